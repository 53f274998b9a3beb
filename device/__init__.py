"""The box: what a player hears, sees and presses.

Everything here is plain thought (the same input, the same output) but for three places: `parts/`
touches the real world, `loop.py` moves values between the parts and the thought, and `commands/`
builds and prints.
"""
