"""Ground at one bearing -> rows, bays of few lengths, and blocks in walking order."""
