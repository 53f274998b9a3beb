"""Simulated players: what they see of a picture, what they make of it, what their hands do.

They never see a pitch. All that reaches them passes `sight.seen`, the one function that knows the lesson's
own types.
"""
