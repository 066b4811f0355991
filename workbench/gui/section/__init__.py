"""The first page: the building cut open, the curves, and the cards of its parts."""
