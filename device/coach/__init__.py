"""The rule that says what to turn, which way and how far, and when to stop."""
