"""From records to what a person reads: text or renderables; no terminal is touched here."""
