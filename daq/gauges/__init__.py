"""What is known of one gauge over time: checks, control, drift, due date, studies. Pure."""
