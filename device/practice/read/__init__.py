"""Read: a note on the staff is asked for, and what is played is told beside it."""
