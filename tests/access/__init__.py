"""A package, so that the stage is built once for all files of this folder (see conftest.py)."""
