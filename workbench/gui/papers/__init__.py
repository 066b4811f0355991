"""The page of papers: looked at, saved and printed."""
