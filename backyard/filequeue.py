"""The queue of files, for the embedded form: a wake-up is seen once it is written whole."""

from pathlib import Path
from time import monotonic
from typing import Any
from uuid import uuid4

from kombu.transport import filesystem
from kombu.utils.json import dumps


class Channel(filesystem.Channel):
    """Kombu's channel, which a reader could catch between making a file and writing it.

    It then took an empty file for a message, and the worker stopped.
    """

    def _put(self, queue: str, payload: Any, **_extra: Any) -> None:  # type: ignore[override]
        folder = Path(self.data_folder_out)
        # readers take <order>_<key>.<queue>.msg, in the order of their names
        whole = folder / f"{round(monotonic() * 1000)}_{uuid4()}.{queue}.msg"
        half = folder / f".{whole.name}"
        half.write_text(dumps(payload), encoding="utf-8")
        half.replace(whole)


class Transport(filesystem.Transport):
    """Kombu's transport over files, with the channel above."""

    Channel = Channel
