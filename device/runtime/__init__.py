"""Runs the box: the loop, the state it steps, sound in, panel out, tone out, lost parts and faults."""
