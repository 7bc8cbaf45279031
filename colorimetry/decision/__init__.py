"""Deciding with uncertainty: conformance probability, guard bands, differences within a limit.

Clauses of JCGM 106:2012 other than 7.3 and 7.4, of JCGM 100 and of JCGM 101 are named from memory:
check your copy. Imported by its modules; loads scipy.special, so
``import colorimetry`` leaves it alone.
"""
