"""The floor seen from above, drawn and edited."""
