"""Rejections, the shared thread, offers and settlements."""
