"""What is strung: the instrument as one frozen value, built once from the settings.

`tuning_parts` names what a hand turns and how far; `rotation` says which way raises; `cores` is what
strings are made of, with sources; `strung` is the instrument that the lesson and the safety monitor
reckon with; `roll_call` says which pitch is which string, and `pitch_bounds` how high one may be. Nothing
below this package looks at the settings again.
"""
