"""What can be set: the settings, how they are written in the file, and which of them hold."""
