"""Pictures as SVG text: pure functions from records to drawings."""
