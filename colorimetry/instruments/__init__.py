"""How instruments repeat, differ and drift: repeatability, bias, En, spectral errors, drift.

Imported by its modules; some load scipy.special, so ``import colorimetry`` leaves it alone.
"""
