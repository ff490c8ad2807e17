"""Uncertainty of measurement after the GUM (JCGM 100): components, their budget, its table."""
