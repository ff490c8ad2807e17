"""Rights by udev: rule files for gauges, what they are for, which are installed."""
