"""Panels of observers: agreement, detection against a reference, grades, and visual tolerance."""
