"""An invented authority, signers, a small PDF, and a time stamp authority that is openssl."""

from __future__ import annotations

import subprocess
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from jobs.pdfseal import Said, Signer

NOW = datetime.now(UTC).replace(microsecond=0)
DAY = timedelta(days=1)


class Authority:
    """A root that issues certificates for seals and, with `stamps`, for a time stamp authority."""

    def __init__(self, name: str = "Invented root") -> None:
        self.key = ec.generate_private_key(ec.SECP256R1())
        self.name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
        self.root = self._issue(self.name, self.key.public_key(), ca=True)

    @property
    def der(self) -> bytes:
        return self.root.public_bytes(Encoding.DER)

    def issue(
        self, name: str, *, start: datetime = NOW - DAY, days: int = 30, stamps: bool = False
    ) -> tuple[ec.EllipticCurvePrivateKey, x509.Certificate]:
        key = ec.generate_private_key(ec.SECP256R1())
        subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
        made = self._issue(subject, key.public_key(), start=start, days=days, stamps=stamps)
        return key, made

    def signer(self, name: str, **more: object) -> Signer:
        key, certificate = self.issue(name, **more)
        private = key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
        return Signer(private, certificate.public_bytes(Encoding.DER))

    def _issue(self, subject, public, *, ca=False, start=NOW - DAY, days=30, stamps=False):
        usage = x509.KeyUsage(True, not ca, False, False, False, ca, ca, False, False)
        builder = (
            x509.CertificateBuilder()
            .subject_name(subject)
            .issuer_name(self.name)
            .public_key(public)
            .serial_number(x509.random_serial_number())
            .not_valid_before(start - (DAY if ca else 0 * DAY))
            .not_valid_after(start + days * DAY)
            .add_extension(x509.BasicConstraints(ca=ca, path_length=0 if ca else None), True)
            .add_extension(usage, critical=True)
        )
        if stamps:
            purpose = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.TIME_STAMPING])
            builder = builder.add_extension(purpose, critical=True)
        return builder.sign(self.key, hashes.SHA256())


def said(field: str, at: datetime = NOW) -> Said:
    """What a seal says of itself, invented."""
    return Said(field, f"{field} (invented)", f"sealed for {field}", at)


Answer = Callable[[bytes], bytes]
CONFIG = """[tsa]
default_tsa = own
[own]
dir = {folder}
serial = {folder}/serial
signer_cert = {folder}/tsa.pem
certs = {folder}/root.pem
signer_key = {folder}/tsa.key
signer_digest = sha256
default_policy = 1.3.6.1.4.1.99999.1
digests = sha256
accuracy = secs:1
ess_cert_id_alg = sha256
"""


def openssl_answers(program: str, folder: Path, authority: Authority) -> Answer:
    """What `openssl ts -reply` answers: an implementation of RFC 3161 that is not ours."""
    key, certificate = authority.issue("Invented time stamps", stamps=True)
    pem = Encoding.PEM
    (folder / "tsa.pem").write_bytes(certificate.public_bytes(pem))
    (folder / "root.pem").write_bytes(authority.root.public_bytes(pem))
    (folder / "tsa.key").write_bytes(key.private_bytes(pem, PrivateFormat.PKCS8, NoEncryption()))
    (folder / "serial").write_text("01\n")
    (folder / "ts.cnf").write_text(CONFIG.format(folder=folder))

    def answer(query: bytes) -> bytes:
        (folder / "query").write_bytes(query)
        subprocess.run(
            [program, "ts", "-reply", "-config", str(folder / "ts.cnf"), "-queryfile",
             str(folder / "query"), "-out", str(folder / "reply")],
            check=True, capture_output=True,
        )  # fmt: skip
        return (folder / "reply").read_bytes()

    return answer


@contextmanager
def responder(answer: Answer, *, status: int = 200, to: str = "") -> Iterator[str]:
    """A local HTTP server that answers so; gives its address."""

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            query = self.rfile.read(int(self.headers["Content-Length"]))
            assert self.headers["Content-Type"] == "application/timestamp-query"
            self.send_response(status)
            if to:
                self.send_header("Location", to)
            self.send_header("Content-Type", "application/timestamp-reply")
            self.end_headers()
            self.wfile.write(answer(query))

        def log_message(self, *_args: object) -> None:
            """Quiet."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}/stamp"
    finally:
        server.shutdown()
        server.server_close()
