"""What happened: append-only chains of entries, their signatures and the signed record."""
