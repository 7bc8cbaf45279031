"""The steps of a verdict; `method.judge` puts them together."""
