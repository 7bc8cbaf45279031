"""The light in which specimens are judged: its colour, its quality, its evenness, its tint."""
