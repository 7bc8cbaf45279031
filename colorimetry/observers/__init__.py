"""The hue arrangement test (85 caps): scores, moments, classes. A screening, never a diagnosis."""
