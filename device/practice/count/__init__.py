"""Count: a bar of rhythm is counted in and plucked on any open string; only the beginnings are judged."""
