"""The page of fans."""
