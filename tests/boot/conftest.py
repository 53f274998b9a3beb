"""What stands in a booted root for parts no PC has is a program, not a test."""

collect_ignore = ["box.py"]
