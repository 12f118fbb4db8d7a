"""The local certificate of bin/demo --tls: a client that trusts the one file meets no doubt."""

import shutil
import socket
import ssl
import stat
import threading
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from demo import tls

pytestmark = pytest.mark.skipif(shutil.which("openssl") is None, reason="openssl is not installed")
HOSTS = ["10.11.12.13"]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, Path, Path]:
    folder = tmp_path_factory.mktemp("tls")
    return folder, *tls.certificate(folder, HOSTS)


@pytest.fixture
def served(made: tuple[Path, Path, Path, Path]) -> Iterator[int]:
    """Answer each TLS greeting on a port of the loopback."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(made[2], made[3])
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(10)

        def answer() -> None:
            while True:
                try:
                    connection, _address = server.accept()
                except OSError:
                    return
                try:
                    with context.wrap_socket(connection, server_side=True):
                        pass
                except OSError:
                    connection.close()

        threading.Thread(target=answer, daemon=True).start()
        yield server.getsockname()[1]


def greet(port: int, name: str, trust: Path | None) -> None:
    """Shake hands as a phone that trusts one file, or nothing of ours."""
    context = ssl.create_default_context(cafile=str(trust) if trust else None)
    with (
        socket.create_connection(("127.0.0.1", port), timeout=10) as plain,
        context.wrap_socket(plain, server_hostname=name),
    ):
        pass


@pytest.mark.outside(
    source="OpenSSL's own verification of chain, purpose and names (RFC 5280, RFC 6125)",
    kind="another implementation", tolerance="exact",
)  # fmt: skip
def test_a_phone_that_trusts_the_file_meets_no_doubt(
    made: tuple[Path, Path, Path, Path], served: int
) -> None:
    for name in ("127.0.0.1", "localhost", "10.11.12.13"):
        greet(served, name, made[1])
    for name, trust in (("10.11.12.14", made[1]), ("127.0.0.1", None)):
        with pytest.raises(ssl.SSLCertVerificationError):
            greet(served, name, trust)


def test_the_key_that_signs_is_gone_and_the_other_is_the_owners(
    made: tuple[Path, Path, Path, Path],
) -> None:
    assert sorted(path.name for path in (made[0] / "tls").iterdir()) == [
        "backyard-demo.crt", "backyard-demo.key", "backyard-demo.pem", "names",
    ]  # fmt: skip
    assert stat.S_IMODE(made[3].stat().st_mode) == 0o600
    assert b"PRIVATE" not in made[1].read_bytes() + made[2].read_bytes()


def test_it_stays_for_the_same_addresses_and_is_made_anew_for_others(tmp_path: Path) -> None:
    first = tls.certificate(tmp_path, HOSTS)[0].read_bytes()
    assert tls.certificate(tmp_path, HOSTS)[0].read_bytes() == first
    assert tls.certificate(tmp_path, ["10.11.12.14"])[0].read_bytes() != first


def test_one_file_is_handed_out_and_nothing_else(made: tuple[Path, Path, Path, Path]) -> None:
    server = tls.hand_out(made[1], 0)
    base = f"http://127.0.0.1:{server.server_address[1]}"
    try:
        with urllib.request.urlopen(f"{base}/backyard-demo.crt") as answer:
            assert answer.headers["Content-Type"] == "application/x-x509-ca-cert"
            assert answer.read() == made[1].read_bytes()
        for path in ("/", "/backyard-demo.key", "/../tls/backyard-demo.key"):
            with pytest.raises(urllib.error.HTTPError, match="404"):
                urllib.request.urlopen(base + path)
    finally:
        server.shutdown()
        server.server_close()
