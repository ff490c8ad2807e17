"""What commands and programs ask for, without a terminal: open, choose, prove, verify, keep."""
