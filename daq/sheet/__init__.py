"""The customer's sheet: its content as one record, the page made of it, and what seals the page."""
