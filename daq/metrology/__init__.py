"""The sums behind a judgement: statistics, uncertainty, form, conformity, checks. Pure."""
