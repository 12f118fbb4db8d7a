"""A small IMAP server on a socket (RFC 3501, what reading and deleting need)."""

import re
import socketserver
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field


@dataclass
class Box:
    """What lies in the folder INBOX: number -> bytes; and who may look."""

    user: str = "returns"
    password: str = "letters-come-back"
    validity: int = 77
    mails: dict[int, bytes] = field(default_factory=dict)
    last: int = 0
    deleted: set[int] = field(default_factory=set)
    capabilities: str = "IMAP4rev1"
    port: int = 0
    # after so many commands the server goes away in the middle
    dies_after: int = 0

    def put(self, mail: bytes) -> int:
        """Lay a mail into the folder; return its number."""
        # a number is never given a second time (RFC 3501, 2.3.1.1)
        self.last += 1
        self.mails[self.last] = mail
        return self.last


class _Conversation(socketserver.StreamRequestHandler):
    def handle(self) -> None:
        box: Box = self.server.box  # type: ignore[attr-defined]
        self._say(f"* OK [CAPABILITY {box.capabilities}] ready")
        for count, raw in enumerate(self.rfile, 1):
            if box.dies_after and count > box.dies_after:
                return
            tag, _sep, rest = raw.decode().strip().partition(" ")
            word, _sep, args = rest.partition(" ")
            if word.upper() == "LOGOUT":
                self._say("* BYE")
                self._say(f"{tag} OK bye")
                return
            answer = getattr(self, f"do_{word.lower()}", None)
            self._say(f"{tag} {answer(box, args) if answer else 'BAD what?'}")

    def _say(self, line: str) -> None:
        self.wfile.write(line.encode() + b"\r\n")

    def do_capability(self, box: Box, _args: str) -> str:
        self._say(f"* CAPABILITY {box.capabilities}")
        return "OK done"

    def do_login(self, box: Box, args: str) -> str:
        user, password = re.findall(r'"([^"]*)"|(\S+)', args)
        given = ("".join(user), "".join(password))
        return "OK done" if given == (box.user, box.password) else "NO [AUTHENTICATIONFAILED] no"

    def do_select(self, box: Box, args: str) -> str:
        if args.strip('"') != "INBOX":
            return "NO no such folder"
        self._say(f"* {len(box.mails)} EXISTS")
        self._say(f"* OK [UIDVALIDITY {box.validity}] valid")
        return "OK [READ-WRITE] done"

    def do_uid(self, box: Box, args: str) -> str:
        word, _sep, rest = args.partition(" ")
        return str(getattr(self, f"uid_{word.lower()}")(box, rest))

    def uid_search(self, box: Box, _args: str) -> str:
        self._say("* SEARCH " + " ".join(str(number) for number in sorted(box.mails)))
        return "OK done"

    def uid_fetch(self, box: Box, args: str) -> str:
        number = int(args.split()[0])
        first, count = re.search(r"<(\d+)\.(\d+)>", args).groups()  # type: ignore[union-attr]
        body = box.mails.get(number, b"")[int(first) : int(first) + int(count)]
        self.wfile.write(
            f"* {number} FETCH (UID {number} BODY[]<{first}> {{{len(body)}}}\r\n".encode()
        )
        self.wfile.write(body + b")\r\n")
        return "OK done"

    def uid_store(self, box: Box, args: str) -> str:
        box.deleted |= {int(number) for number in args.split()[0].split(",")}
        return "OK done"

    def do_expunge(self, box: Box, _args: str) -> str:
        for number in sorted(box.deleted):
            box.mails.pop(number, None)
        box.deleted.clear()
        return "OK done"


@contextmanager
def serving(box: Box) -> Iterator[Box]:
    """Serve a mailbox on the loopback."""
    with socketserver.ThreadingTCPServer(("127.0.0.1", 0), _Conversation) as server:
        server.daemon_threads = True
        server.box = box  # type: ignore[attr-defined]
        box.port = server.server_address[1]
        threading.Thread(target=server.serve_forever, daemon=True).start()
        try:
            yield box
        finally:
            server.shutdown()
