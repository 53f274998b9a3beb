"""The box: what a player hears, sees and presses.

Everything here is pure (the same input always gives the same output) but for three packages: `parts/`
touches the real world, `runtime/` moves values between the parts and the pure functions, and
`commands/` builds the parts and prints.
"""
