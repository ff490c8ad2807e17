"""Statistics of small samples: distributions, tests, charts, analysis of variance. Pure."""
