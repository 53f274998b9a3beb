"""Written music as values: pitches, clefs, signatures, lengths, bars; no picture, no sound, no time."""
