"""Deciding with uncertainty: conformance probability, guard bands, differences within a limit.

Imported by its modules; loads scipy.special, so ``import colorimetry`` leaves it alone.
"""
