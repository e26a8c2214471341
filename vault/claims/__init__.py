"""What to send to whom: the letter that asks for lost files, and the proof that goes with it."""
