"""Organisations, people, registers, seats and signing: who may see and do what."""
