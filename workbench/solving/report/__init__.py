"""What is told of an answer: rules, help, sealing, the map, and the answer for other programs."""
