"""The page of visits: what was read when somebody came back, against what was predicted."""
