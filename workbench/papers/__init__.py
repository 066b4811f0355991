"""Papers: what is carried to the house and left with its owner, made of blocks and written in several forms."""
