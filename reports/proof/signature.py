"""Signatures of documents: PAdES baseline (B-B, or B-T with a time stamp) as an increment after the unsigned bytes.

The key stays in its own file, encrypted by its passphrase; nothing of either is kept. Imported only by the commands
that sign, and by `verify` where a file is signed.
"""

import contextlib
import io
import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, pkcs12
from cryptography.x509.oid import NameOID
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign import fields, signers
from pyhanko.sign.timestamps import HTTPTimeStamper, TimeStamper, TimestampRequestError
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko.sign.validation.status import SignatureCoverageLevel
from pyhanko_certvalidator import ValidationContext

from gaugebook.pipeline.errors import GaugebookError

DEMO = "DEMONSTRATION ONLY, PROVES NOTHING"
FEWEST_SIGNS = 8  # of a passphrase


@dataclass(frozen=True)
class Signature:
    """A signature found in a file."""

    signer: str  # subject of the certificate
    certificate_sha256: str
    is_intact: bool  # what it covers is what was signed, and the key is that of its certificate
    covers_all: bool  # it covers every byte of the file but itself
    stamped_at: datetime | None  # by a time-stamping service
    is_demo: bool


def sign(content: bytes, signer: signers.Signer, stamper: TimeStamper | None = None) -> bytes:
    """The document with a signature after it; what was there stays, byte for byte, its beginning.

    Raises
    ------
    GaugebookError
        If the time-stamping service did not answer.
    """
    out = io.BytesIO()
    writer = IncrementalPdfFileWriter(io.BytesIO(content))
    name = f"Signature{len(writer.prev.embedded_signatures) + 1}"
    about = signers.PdfSignatureMetadata(
        field_name=name, md_algorithm="sha256", subfilter=fields.SigSeedSubFilter.PADES,
    )  # fmt: skip
    try:
        signers.PdfSigner(about, signer=signer, timestamper=stamper).sign_pdf(writer, output=out)
    except TimestampRequestError as error:
        raise GaugebookError(
            f"The time-stamping service did not answer as it should ({error.__cause__ or error}); nothing was signed. "
            "Try again later, or leave --timestamp."
        ) from error
    return out.getvalue()


def signer_of(path: Path, passphrase: bytes) -> signers.SimpleSigner:
    """The person's key and certificate from a PKCS #12 file.

    Raises
    ------
    GaugebookError
        If it cannot be read, or opened with this passphrase.
    """
    content = path.read_bytes()
    try:
        pkcs12.load_key_and_certificates(content, passphrase)
        signer = signers.SimpleSigner.load_pkcs12(str(path), passphrase=passphrase)
    except ValueError:
        signer = None
    if signer is None:
        raise GaugebookError(
            f'"{path}" is no PKCS #12 file with a key and a certificate, or the passphrase is not its.'
        )
    return signer


def stamper_at(address: str) -> TimeStamper:
    """The time-stamping service (RFC 3161) at this address."""
    return HTTPTimeStamper(address, https=address.startswith("https:"))


def demo_certificate(name: str, passphrase: bytes, now: datetime) -> bytes:
    """A self-made certificate for trying out, marked so in its subject, with its key: PKCS #12 under a passphrase.

    Raises
    ------
    GaugebookError
        If the passphrase is too short.
    """
    if len(passphrase) < FEWEST_SIGNS:
        raise GaugebookError(f"The passphrase is too short; give at least {FEWEST_SIGNS} signs.")
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name(
        [x509.NameAttribute(NameOID.COMMON_NAME, name), x509.NameAttribute(NameOID.ORGANIZATION_NAME, DEMO)]
    )
    usage = dict.fromkeys(
        ("key_encipherment", "data_encipherment", "key_agreement", "key_cert_sign", "crl_sign", "encipher_only",
         "decipher_only"), False,
    )  # fmt: skip
    certificate = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(minutes=5))
        .not_valid_after(now + timedelta(days=365))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.KeyUsage(digital_signature=True, content_commitment=True, **usage), critical=True)
        .sign(key, hashes.SHA256())
    )
    return pkcs12.serialize_key_and_certificates(
        name.encode(), key, certificate, None, BestAvailableEncryption(passphrase)
    )


def signatures(content: bytes) -> list[Signature]:
    """The signatures in a file, first to last. Whether a certificate is to be trusted is for its reader to say.

    Raises
    ------
    GaugebookError
        If the file is damaged so that they cannot be read.
    """
    try:
        embedded = PdfFileReader(io.BytesIO(content)).embedded_signatures
        looked_at = [_looked_at(item) for item in embedded]
    except Exception as error:  # whatever a damaged file may do to its reader
        raise GaugebookError(f"the signatures cannot be read ({type(error).__name__}: {error})") from error
    last = looked_at[-1] if looked_at else None
    clean = _is_padded_with_zeros(content)
    return [item if item is not last else Signature(**vars(item) | {"covers_all": item.covers_all and clean})
            for item in looked_at]  # fmt: skip


def attached_files(content: bytes) -> dict[str, bytes]:
    """The files inside a document by name, those of them that can be read however damaged it is."""
    files: dict[str, bytes] = {}
    try:
        names = PdfFileReader(io.BytesIO(content), strict=False).root["/Names"]["/EmbeddedFiles"]["/Names"]
        pairs = [(str(names[number]), names[number + 1]) for number in range(0, len(names), 2)]
    except Exception:  # whatever a damaged file may do to its reader
        return files
    for name, spec in pairs:
        with contextlib.suppress(Exception):
            files[name] = bytes(spec["/EF"]["/F"].data)
    return files


def _looked_at(item: Any) -> Signature:
    certificate = item.signer_cert
    context = ValidationContext(trust_roots=[certificate], allow_fetching=False)
    # What came after a signature is covered by the last one; to compare revisions object by object takes minutes.
    status = validate_pdf_signature(item, context, context, skip_diff=True)
    stamp = status.timestamp_validity
    signer = certificate.subject.human_friendly
    return Signature(
        signer,
        sha256(certificate.dump()).hexdigest(),
        bool(status.intact and status.valid and (stamp is None or (stamp.intact and stamp.valid))),
        status.coverage == SignatureCoverageLevel.ENTIRE_FILE,
        stamp.timestamp.astimezone(UTC).replace(tzinfo=None) if stamp else None,
        DEMO in signer,
    )


def _is_padded_with_zeros(content: bytes) -> bool:
    """Whether what follows the last signature in its place is zeros: that is the one part that no signature covers."""
    places = [match for match in re.finditer(rb"/Contents\s*<([0-9a-fA-F]+)>", content) if len(match[1]) > 1000]
    if not places:
        return False
    held = bytes.fromhex(places[-1][1].decode())
    if held[1] < 0x80:
        length = 2 + held[1]
    else:
        count = held[1] & 0x7F
        length = 2 + count + int.from_bytes(held[2 : 2 + count], "big")
    return not any(held[length:])
