"""What a USB keyboard-type gauge says in its reports. Pure."""
