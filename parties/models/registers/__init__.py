"""Registers: observers, booths, instruments, references and their chips."""

from parties.models.registers.base import RegisterQuerySet, RegisterRow
from parties.models.registers.equipment import Booth, Instrument
from parties.models.registers.observers import Observer
from parties.models.registers.references import Chip, Reference

__all__ = [
    "Booth",
    "Chip",
    "Instrument",
    "Observer",
    "Reference",
    "RegisterQuerySet",
    "RegisterRow",
]
