"""The lesson: which string, what to turn, which way and how far, until everything is right."""
