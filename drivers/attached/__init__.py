"""What is attached to this machine: read from the system's own tree, without opening anything."""
