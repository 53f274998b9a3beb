"""Pictures for a one-colour panel, made of our own shapes.

A shape is a mask: a mode "1" image in which lit is ink. Masks are cut from a board four times finer
with plain polygons, made smaller and lit from half ink on, so that edges come out alike wherever
they are drawn; every mask is kept, so a picture costs a handful of pastes. Sizes are in pixels of
the panel, y grows downwards, angles are those of a clock face: 0 at twelve o'clock, clockwise.

    plate                              the board, and the geometry of a clock face
    lettering                          note letters at any size, digits and small words
    arrows, tailpiece, pegs, heads     what is turned, which one of them, which way and how far
    fingerboard, people, signs, icons  strings and fingers, people, signs, instruments
    player_view                        which string lies where for whoever holds the instrument
    turn_field, pluck_field, notices   the field beside the letter: a turn, a pluck, a piece of news
    string_strip, turn_reasons, track  the strip with the strings and the cents; the bead on its string
    lesson, ending, warnings, status_pages, menu_page
                                       whole pictures
    setting_signs, setting_shapes      a sign for every page of the settings
    key_caps                           what each of the three buttons will do
"""
