"""Physics of air, pipe, ground and sound: pure functions on SI floats and arrays."""
