"""A local certificate, so that a phone on the same network can install the page.

Workers and storage that lasts ask for HTTPS, and a phone takes it only from a name that it trusts.
The key that signs is thrown away at once: with it anybody could sign for any name on that phone.
"""

import contextlib
import http.server
import ipaddress
import shutil
import socket
import subprocess
import tempfile
import threading
from pathlib import Path

# phones refuse a server's certificate that runs for longer
DAYS = 800
NAME = "backyard-demo"
CA = """[req]
distinguished_name = name
x509_extensions = ca
prompt = no
[name]
CN = Backyard demo, this machine only
[ca]
basicConstraints = critical, CA:TRUE, pathlen:0
keyUsage = critical, keyCertSign, cRLSign
subjectKeyIdentifier = hash
"""
LEAF = """[leaf]
basicConstraints = critical, CA:FALSE
keyUsage = critical, digitalSignature
extendedKeyUsage = serverAuth
subjectKeyIdentifier = hash
authorityKeyIdentifier = keyid
subjectAltName = {names}
"""


class NoCertificate(Exception):
    """Says what is missing."""


def addresses() -> list[str]:
    """Return the addresses of this machine in its network, the one that leads out first."""
    found = []
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        # sends nothing: it only asks which way a packet would go (RFC 5737, an address of nobody)
        probe.connect(("192.0.2.1", 9))
        found.append(str(probe.getsockname()[0]))
    with contextlib.suppress(OSError):
        rows = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        found += [str(row[4][0]) for row in rows]
    real = [item for item in found if not ipaddress.ip_address(item).is_loopback]
    return list(dict.fromkeys(real)) or ["127.0.0.1"]


def names(hosts: list[str]) -> list[str]:
    """Return what the certificate stands for."""
    return ["DNS:localhost", *(f"IP:{item}" for item in dict.fromkeys(["127.0.0.1", *hosts]))]


def certificate(folder: Path, hosts: list[str]) -> tuple[Path, Path, Path]:
    """Return (what a phone trusts, server's certificate, its key); made anew for other addresses.

    Raises NoCertificate where openssl is not installed or refuses.
    """
    place = folder / "tls"
    place.mkdir(mode=0o700, parents=True, exist_ok=True)
    trust, chain, key = (place / f"{NAME}.{end}" for end in ("crt", "pem", "key"))
    wanted = ",".join(names(hosts))
    stamp = place / "names"
    held = stamp.exists() and stamp.read_text(encoding="utf-8") == wanted
    if held and chain.exists() and _lasts(chain):
        return trust, chain, key
    with tempfile.TemporaryDirectory() as scratch:
        _make(Path(scratch), wanted, trust, chain, key)
    stamp.write_text(wanted, encoding="utf-8")
    return trust, chain, key


def _make(scratch: Path, wanted: str, trust: Path, chain: Path, key: Path) -> None:
    (scratch / "ca.cnf").write_text(CA, encoding="utf-8")
    (scratch / "leaf.cnf").write_text(LEAF.format(names=wanted), encoding="utf-8")
    curve = ["-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes"]
    signing, request = str(scratch / "ca.key"), str(scratch / "leaf.csr")
    key.touch(mode=0o600)
    _openssl("req", "-x509", *curve, "-keyout", signing, "-out", str(trust), "-days", str(DAYS),
             "-config", str(scratch / "ca.cnf"))  # fmt: skip
    _openssl("req", "-new", *curve, "-keyout", str(key), "-out", request, "-subj",
             "/CN=Backyard demo", "-config", str(scratch / "ca.cnf"))  # fmt: skip
    _openssl("x509", "-req", "-in", request, "-CA", str(trust), "-CAkey", signing,
             "-CAcreateserial", "-CAserial", str(scratch / "serial"), "-out", str(chain), "-days",
             str(DAYS), "-extfile", str(scratch / "leaf.cnf"), "-extensions", "leaf")  # fmt: skip
    key.chmod(0o600)


def _lasts(path: Path) -> bool:
    day = str(24 * 3600)
    words = ["openssl", "x509", "-in", str(path), "-noout", "-checkend", day]
    return subprocess.run(words, capture_output=True, check=False).returncode == 0


def _openssl(*words: str) -> None:
    if shutil.which("openssl") is None:
        raise NoCertificate("openssl is needed for --tls: apt-get install -y openssl")
    done = subprocess.run(["openssl", *words], capture_output=True, text=True, check=False)
    if done.returncode:
        raise NoCertificate(f"openssl refused: {done.stderr.strip().splitlines()[-1]}")


def hand_out(trust: Path, port: int) -> http.server.ThreadingHTTPServer:
    """Serve the one file that a phone has to trust, over plain HTTP: it holds no secret."""
    data = trust.read_bytes()

    class OneFile(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            """Answer with the certificate at its address, with 404 elsewhere."""
            good = self.path == f"/{trust.name}"
            self.send_response(200 if good else 404)
            self.send_header("Content-Type", "application/x-x509-ca-cert")
            self.send_header("Content-Length", str(len(data) if good else 0))
            self.end_headers()
            if good:
                self.wfile.write(data)

        def log_message(self, *_words: object) -> None:
            """Say nothing."""

    server = http.server.ThreadingHTTPServer(("0.0.0.0", port), OneFile)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server
