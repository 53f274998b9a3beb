"""Has one module for each command, and what the commands share."""
