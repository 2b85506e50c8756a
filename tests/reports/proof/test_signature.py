"""Signatures: PAdES baseline, confirmed by other validators than the signer's own; nothing else follows a document."""

import hashlib
import os
import random
import re
import subprocess
import threading
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, HTTPServer
from shutil import copytree, which

import pytest
from asn1crypto import cms, tsp
from asn1crypto.keys import PrivateKeyInfo
from asn1crypto.x509 import Certificate
from click.testing import CliRunner
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.serialization import pkcs12
from cryptography.x509 import load_der_x509_certificate
from pyhanko.sign.timestamps import DummyTimeStamper
from tampering import changed

from gaugebook.pipeline.book import register
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import GaugebookError
from gaugebook.reports.cli import main
from gaugebook.reports.proof.document_check import check_document
from gaugebook.reports.proof.signature import DEMO, demo_certificate, sign, signatures, signer_of, stamper_at
from gaugebook.reports.proof.verification import verify_book

PASSPHRASE = "not kept anywhere"


@pytest.fixture(scope="module")
def key_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("keys") / "qa.p12"
    path.write_bytes(demo_certificate("Q. Assured", PASSPHRASE.encode(), datetime.now(UTC)))
    return path


@pytest.fixture(scope="module")
def signed_book(issued, key_file, tmp_path_factory):
    """A copy of the book and its documents with the dossier signed by command."""
    folder = tmp_path_factory.mktemp("signed")
    copytree(issued.parent / "out", folder / "out")
    copytree(issued, folder / "book")
    result = given(folder / "book", "sign", folder / "out" / "RYE-1.pdf", "--certificate", key_file)
    assert result.exit_code == 0, result.output
    return folder


@pytest.fixture(scope="module")
def unsigned(issued):
    return (issued.parent / "out" / "RYE-1.pdf").read_bytes()


@pytest.fixture(scope="module")
def signed(signed_book):
    return (signed_book / "out" / "RYE-1.signed.pdf").read_bytes()


def given(book, *words, passphrase=PASSPHRASE):
    settings = {"GAUGEBOOK_PASSPHRASE": passphrase}
    return CliRunner().invoke(main, ["--book", str(book), *map(str, words)], env=settings)


def signed_parts(content):
    """What the last signature covers, and its CMS, read without the signer's library."""
    *_, place = re.finditer(rb"/ByteRange\s*\[\s*(\d+) (\d+) (\d+) (\d+)\s*\]", content)
    one, length, two, rest = map(int, place.groups())
    held = bytes.fromhex(content[one + length + 1 : two - 1].decode())
    return (one, length, two, rest), content[one : one + length] + content[two : two + rest], held


def test_the_unsigned_document_stays_its_beginning(unsigned, signed, signed_book):
    """The signature is an increment in a file of its own; the unsigned one lies beside, untouched."""
    assert signed.startswith(unsigned) and len(signed) > len(unsigned)
    assert (signed_book / "out" / "RYE-1.pdf").read_bytes() == unsigned


def test_the_signature_by_its_own_library(signed):
    """It is intact, covers all, and its certificate says that it proves nothing."""
    (found,) = signatures(signed)

    assert found.is_intact and found.covers_all and found.is_demo
    assert DEMO in found.signer and "Q. Assured" in found.signer


def test_the_signature_by_cryptography_alone(signed, key_file):
    """The digest of the covered bytes is signed by the certificate's key (RFC 5652, 5.4)."""
    _, covered, held = signed_parts(signed)
    info = cms.ContentInfo.load(held)["content"]
    signer = info["signer_infos"][0]
    attributes = {item["type"].native: item["values"] for item in signer["signed_attrs"]}
    certificate = load_der_x509_certificate(info["certificates"][0].chosen.dump())
    _, own, _ = pkcs12.load_key_and_certificates(key_file.read_bytes(), PASSPHRASE.encode())

    assert attributes["message_digest"][0].native == hashlib.sha256(covered).digest()
    certificate.public_key().verify(
        signer["signature"].native, signer["signed_attrs"].untag().dump(), ec.ECDSA(hashes.SHA256())
    )
    assert certificate == own


def test_the_signature_by_openssl_and_poppler(signed, tmp_path):
    """Where these are at hand they find it valid, over the whole file."""
    _, covered, held = signed_parts(signed)
    length = len(cms.ContentInfo.load(held).dump())
    for name, content in (("covered", covered), ("cms", held[:length]), ("a.pdf", signed)):
        (tmp_path / name).write_bytes(content)
    if which("openssl"):
        words = ["-verify", "-binary", "-inform", "DER", "-in", "cms", "-content", "covered", "-noverify"]
        subprocess.run(["openssl", "cms", *words, "-out", os.devnull], cwd=tmp_path, check=True, capture_output=True)
    if which("pdfsig"):
        verdict = subprocess.run(["pdfsig", "-nocert", "a.pdf"], cwd=tmp_path, capture_output=True, text=True).stdout
        assert "Signature is Valid" in verdict
        assert "Total document signed" in verdict


def test_the_clauses_of_the_baseline(signed):
    """PAdES B-B: sub-filter, range of bytes, the signing certificate's hash in the signature, no time of its own there
    (ETSI EN 319 142-1; clauses from memory)."""
    (one, length, two, rest), _, held = signed_parts(signed)
    signer = cms.ContentInfo.load(held)["content"]["signer_infos"][0]
    attributes = {item["type"].native: item["values"] for item in signer["signed_attrs"]}

    assert re.search(rb"/SubFilter\s*/ETSI\.CAdES\.detached", signed)
    assert (one, two + rest) == (0, len(signed))
    assert signed[length : length + 1] + signed[two - 1 : two] == b"<>"
    assert attributes["content_type"][0].native == "data"
    named = attributes["signing_certificate_v2"][0]["certs"][0]["cert_hash"].native
    certificate = cms.ContentInfo.load(held)["content"]["certificates"][0].chosen.dump()
    assert named == hashlib.sha256(certificate).digest()
    assert "signing_time" not in attributes
    assert re.search(rb"/M\s*\(D(:|\\072)\d{14}", signed)


def test_verify_knows_the_signed_file(signed_book, signed):
    """The register names document and signature; the book holds with both."""
    with open_book(signed_book / "book") as book:
        chain = register.entries(book)
        assert verify_book(book).holds
    check = check_document(signed, chain)

    assert check.holds
    assert "signed as entry" in check.label
    named = {entry.data["sha256"] for entry in chain if entry.kind == "signature"}
    assert hashlib.sha256(signed).hexdigest() in named


def test_any_byte_altered_is_found(signed_book, signed, unsigned):
    """Forty bytes of the signed file taken by chance, half of them after the document: each is found."""
    chance = random.Random(11)
    with open_book(signed_book / "book") as book:
        chain = register.entries(book)
    places = [chance.randrange(len(signed)) for _ in range(20)]
    places += [chance.randrange(len(unsigned), len(signed)) for _ in range(20)]
    for place in places:
        assert not check_document(changed(signed, place, chance), chain).holds, place


def test_a_signature_that_the_register_was_not_told_of(issued, unsigned, key_file):
    """It is judged by itself: sound it holds; with bytes added after it, or in the room left beside it, it does not."""
    with open_book(issued) as book:
        chain = register.entries(book)
    foreign = sign(unsigned, signer_of(key_file, PASSPHRASE.encode()))
    *_, gap = re.finditer(rb"0{200,}>", foreign)

    assert "was not told of the signature" in check_document(foreign, chain).label
    assert not check_document(foreign + b"\n% more\n", chain).holds
    assert not check_document(foreign[: gap.start() + 9] + b"1" + foreign[gap.start() + 10 :], chain).holds
    assert not check_document(unsigned + b"\n% more\n", chain).holds


def test_two_people_sign(signed_book, key_file):
    """The second signature follows the first in a file of its own, and both hold."""
    result = given(signed_book / "book", "sign", signed_book / "out" / "RYE-1.signed.pdf", "--certificate", key_file)
    twice = (signed_book / "out" / "RYE-1.signed2.pdf").read_bytes()
    with open_book(signed_book / "book") as book:
        check = check_document(twice, register.entries(book))

    assert result.exit_code == 0, result.output
    assert check.holds
    assert sum("valid" in line and "Signature by" in line for line in check.remarks) == 2


def test_what_is_not_signed(signed_book, key_file, tmp_path):
    """A file that the register does not name, a wrong passphrase, a file in the way, a service not configured."""
    book, document = signed_book / "book", signed_book / "out" / "account-2026-01.pdf"
    altered = tmp_path / "altered.pdf"
    altered.write_bytes(document.read_bytes() + b"x")

    def error(*words, **settings):
        return str(given(book, "sign", *words, "--certificate", key_file, **settings).exception)

    assert "no sound signature" in error(altered) or "is no signature" in error(altered)
    assert "the passphrase is not its" in error(document, passphrase="another one")
    assert "exists already" in error(signed_book / "out" / "RYE-1.pdf")
    assert "names no timestamp_service" in error(document, "--timestamp")
    assert not document.with_name("account-2026-01.signed.pdf").exists()


def test_neither_key_nor_passphrase_is_in_the_book(signed_book, key_file):
    """Nothing that the book or the signed file holds contains the passphrase or the key."""
    key, _, _ = pkcs12.load_key_and_certificates(key_file.read_bytes(), PASSPHRASE.encode())
    number = key.private_numbers().private_value.to_bytes(32, "big")
    plain = key.private_bytes(
        serialization.Encoding.DER, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    for path in signed_book.rglob("*"):
        if path.is_file():
            content = path.read_bytes()
            assert PASSPHRASE.encode() not in content and number not in content and plain not in content, path


def test_a_certificate_for_trying_out(tmp_path):
    """It is marked in its subject, only its owner can read the file, and one is never written over."""
    path = tmp_path / "me.p12"
    words = ("certificate", "--demo", "--name", "N. Obody", "--out", path)
    made = given(tmp_path, *words)

    assert made.exit_code == 0, made.output
    assert path.stat().st_mode & 0o777 == 0o600
    assert DEMO in signer_of(path, PASSPHRASE.encode()).signing_cert.subject.human_friendly
    assert "exists already" in str(given(tmp_path, *words).exception)
    assert given(tmp_path, *words[:2], "--name", "N", "--out", tmp_path / "b.p12", passphrase="short").exception


def test_the_passphrase_from_an_open_file(tmp_path, key_file, signed_book):
    """--passphrase-fd reads the first line of a file that the caller opened."""
    (tmp_path / "passphrase").write_text(f"{PASSPHRASE}\n")
    copytree(signed_book / "book", tmp_path / "book")
    document = tmp_path / "account-2026-01.pdf"
    document.write_bytes((signed_book / "out" / document.name).read_bytes())
    with (tmp_path / "passphrase").open() as file:
        words = ["--book", str(tmp_path / "book"), "sign", str(document), "--certificate", str(key_file)]
        result = CliRunner().invoke(main, [*words, "--passphrase-fd", str(file.fileno())])

    assert result.exit_code == 0, result.output
    assert document.with_name("account-2026-01.signed.pdf").exists()


def stamping_authority(at):
    """Certificate and key of a time stamping authority that signs for itself (RFC 3161, 2.3: for stamping only)."""
    key = rsa.generate_private_key(65537, 2048)
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "A stamp for tests")])
    made = x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number())
    made = made.not_valid_before(at - timedelta(days=1)).not_valid_after(at + timedelta(days=1))
    made = made.add_extension(x509.ExtendedKeyUsage([x509.ExtendedKeyUsageOID.TIME_STAMPING]), critical=True)
    private = key.private_bytes(
        serialization.Encoding.DER, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    certificate = made.sign(key, hashes.SHA256()).public_bytes(serialization.Encoding.DER)
    return Certificate.load(certificate), PrivateKeyInfo.load(private)


def test_a_time_stamp_by_a_service(unsigned, key_file):
    """A service on this machine stamps the signature; the stamp's time is found again; none that does not answer."""
    at = datetime.now(UTC).replace(microsecond=0)
    stamper = DummyTimeStamper(*stamping_authority(at), fixed_dt=at)

    class Service(BaseHTTPRequestHandler):
        def do_POST(self):
            asked = tsp.TimeStampReq.load(self.rfile.read(int(self.headers["Content-Length"])))
            answer = stamper.request_tsa_response(asked).dump()
            self.send_response(200)
            self.send_header("Content-Type", "application/timestamp-reply")
            self.send_header("Content-Length", str(len(answer)))
            self.end_headers()
            self.wfile.write(answer)

        def log_message(self, *_):
            pass

    signer = signer_of(key_file, PASSPHRASE.encode())
    with HTTPServer(("127.0.0.1", 0), Service) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        stamped = sign(unsigned, signer, stamper_at(f"http://127.0.0.1:{server.server_port}/"))
        server.shutdown()
        port = server.server_port
    (found,) = signatures(stamped)

    assert found.is_intact
    assert found.stamped_at == at.replace(tzinfo=None)
    with pytest.raises(GaugebookError, match="did not answer"):
        sign(unsigned, signer, stamper_at(f"http://127.0.0.1:{port}/"))


def test_a_signed_document_goes_into_the_pack(signed_book, signed, unsigned, tmp_path):
    """With its checksum; one that was altered, or is not signed, is refused with the reason."""
    book = copytree(signed_book / "book", tmp_path / "book")
    (tmp_path / "RYE-1.signed.pdf").write_bytes(signed)
    (tmp_path / "altered.pdf").write_bytes(signed[:-40] + b" " + signed[-39:])
    (tmp_path / "RYE-1.pdf").write_bytes(unsigned)
    ask = ["--book", str(book), "pack", "--month", "2026-01", "--out", str(tmp_path), "--signed"]

    for name, why in (("altered.pdf", "not packed"), ("RYE-1.pdf", "it is not signed")):
        refused = CliRunner().invoke(main, [*ask, str(tmp_path / name)])
        assert isinstance(refused.exception, GaugebookError) and why in str(refused.exception)
    assert CliRunner().invoke(main, [*ask, str(tmp_path / "RYE-1.signed.pdf")]).exit_code == 0

    pack = tmp_path / "pack-2026-01"
    assert (pack / "signed" / "RYE-1.signed.pdf").read_bytes() == signed
    assert f"{hashlib.sha256(signed).hexdigest()}  signed/RYE-1.signed.pdf" in (pack / "SHA256SUMS").read_text()
