"""Many designs side by side: what is tried, what each needs, and what a step is worth."""
