"""Pictures for a one-colour panel, made of our own shapes.

A shape is a mask: a mode "1" image in which 1 is ink. Masks are drawn four times too large with
plain polygons, made smaller and cut at half ink, so that edges come out alike wherever they are
drawn; every mask is kept, so a picture costs a handful of pastes. Sizes are in pixels of the
panel, y grows downwards, angles are those of a clock face: 0 at twelve o'clock, growing clockwise.
"""
