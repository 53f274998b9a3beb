"""What a lesson goes on to once the strings are right; `device.practice.table` lists all of it.

The tuning lesson knows nothing of this.
"""
