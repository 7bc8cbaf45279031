"""Drafts, revisions, negotiation and the signing of terms."""
