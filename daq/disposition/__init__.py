"""The next step for a group of journals: serve, bearings, grind or shelf; how it is worn. Pure."""
