"""What a ledger says: the events, the state that they fold to, the readings that stand. Pure."""
