"""Pages of the desk: what awaits me; timeline and proofs; records; checkpoints; the reading log."""
