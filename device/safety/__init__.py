"""What must never happen, held apart from the lesson: no string is wound to breaking."""
