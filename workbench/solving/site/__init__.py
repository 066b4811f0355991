"""What stands before any fan runs: ground and floor fitted to their readings, pipes, season, and possible sites."""
