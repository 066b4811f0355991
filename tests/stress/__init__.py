"""The attack: seeded trials of all that the program must bear, counted, with a file kept of each distinct failure."""
