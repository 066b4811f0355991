"""The page of the floor: holes, target, season and chance beside the plan."""
