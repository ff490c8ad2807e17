"""What is measured with: gauges and stacks of gauge blocks, as their files describe them. Pure."""
