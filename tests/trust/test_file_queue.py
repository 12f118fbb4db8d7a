"""The queue of files: a wake-up is seen whole or not at all."""

import threading
from pathlib import Path
from queue import Empty
from typing import Any

import pytest
from kombu import Connection

from backyard.filequeue import Transport


@pytest.fixture
def channel(tmp_path: Path) -> Any:
    folder = tmp_path / "messages"
    folder.mkdir()
    options = {
        "data_folder_in": str(folder), "data_folder_out": str(folder),
        "control_folder": str(tmp_path / "control"),
    }  # fmt: skip
    with Connection(transport=Transport, transport_options=options) as connection:
        yield connection.channel()


class Looks:
    """A part of a message that looks for messages while it is being written."""

    def __init__(self, channel: Any) -> None:
        self.channel, self.looked = channel, 0

    def __json__(self) -> int:
        with pytest.raises(Empty):
            self.channel._get("default")
        self.looked += 1
        return self.looked


def test_what_is_half_written_is_no_message(channel: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A reader between the making of the file and its last byte finds nothing."""
    part, write = Looks(channel), Path.write_text

    def slowly(self: Path, text: str, **more: Any) -> int:
        self.touch()
        part.__json__()
        return write(self, text, **more)

    monkeypatch.setattr(Path, "write_text", slowly)
    channel._put("default", {"n": part})
    assert part.looked == 2
    assert channel._get("default") == {"n": 1}


def test_readers_and_writers_at_once_lose_nothing(channel: Any) -> None:
    def write() -> None:
        for number in range(300):
            channel._put("default", {"n": number})

    writer, found = threading.Thread(target=write), []
    writer.start()
    while writer.is_alive() or channel._size("default"):
        try:
            found.append(channel._get("default")["n"])
        except Empty:
            continue
    writer.join()
    assert sorted(found) == list(range(300))


def test_queues_are_apart(channel: Any) -> None:
    channel._put("pdf", {"n": 1})
    with pytest.raises(Empty):
        channel._get("default")
    assert channel._get("pdf") == {"n": 1}
