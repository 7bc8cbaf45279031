"""The broker's filesystem transport, with messages that are either whole or not there."""

from __future__ import annotations

import os
import uuid
from pathlib import Path
from queue import Empty
from time import time_ns
from typing import Any

from kombu.transport import filesystem
from kombu.utils.json import dumps


class Channel(filesystem.Channel):
    """The library writes a message in place: a writer killed in between stops every reader."""

    def _put(self, queue: str, payload: dict[str, Any], **kwargs: Any) -> None:
        """Write under a name nobody reads, then rename."""
        target = Path(self.data_folder_out) / f"{time_ns()}_{uuid.uuid4()}.{queue}.msg"
        part = target.with_name(target.name + ".part")
        part.write_text(dumps(payload), encoding="utf-8")
        os.replace(part, target)

    def _get(self, queue: str) -> Any:
        """The next message; one that cannot be read is gone by then (the job row is the truth)."""
        try:
            return super()._get(queue)
        except ValueError as error:
            raise Empty from error


class Transport(filesystem.Transport):
    """The library's transport over the channel above."""

    Channel = Channel
