"""The page of choices."""
