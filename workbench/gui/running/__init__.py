"""The page of sound and year."""
