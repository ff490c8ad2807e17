"""A gauge study: `turns` who measures when, `gathered` the readings, `evaluate` what they say."""
