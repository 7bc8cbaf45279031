"""Static files as they are served: compressed, under names that hold their digest, so that a
browser keeps them for good. `collectstatic` makes these, which `manage.py serve` runs at start."""

from __future__ import annotations

from whitenoise.storage import CompressedManifestStaticFilesStorage


class GatheredFiles(CompressedManifestStaticFilesStorage):
    """What was not gathered, as in tests, goes by its own name and uncompressed."""

    def stored_name(self, name: str) -> str:
        """The name under which a file is asked for."""
        own: str = self.clean_name(name)
        if self.hash_key(own) not in self.hashed_files:
            return own
        stored: str = super().stored_name(name)
        return stored
