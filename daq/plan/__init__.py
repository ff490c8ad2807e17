"""What is to be measured: the plan's text to a checked record, its route and its review. Pure."""
