"""The page of water, rules and the house's draft."""
