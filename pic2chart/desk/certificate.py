"""The certificate with which the desk speaks to the home network, made on this machine.

Nobody signs for it but itself, so a device that meets it for the first time warns; its fingerprint,
shown on the desk's own screen, tells whether it is the right one. It stays the same from start to
start, so that a device warns once.
"""

from __future__ import annotations

import datetime
import ipaddress
from dataclasses import dataclass
from pathlib import Path

from pic2chart.core.files import make_folder, write_atomic

_DAYS = 365
_EARLY = datetime.timedelta(days=1)
"""Clocks of devices differ: it is valid from a day ago on, and made anew a day before it ends."""
_CERTIFICATE, _KEY = "certificate.pem", "key.pem"


@dataclass(frozen=True, slots=True)
class Certificate:
    """Files of the certificate and its key, and its SHA-256 fingerprint, 'AB:CD:…' as devices show it."""

    certificate: Path
    key: Path
    fingerprint: str


def certificate_for(folder: Path, address: str) -> Certificate:
    """The certificate in `folder`, made anew when there is none, it is nearly over, or it does not name
    the IP `address`. Raises OutputError when it cannot be written.
    """
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes

    make_folder(folder)
    paths = folder / _CERTIFICATE, folder / _KEY
    known = _read(*paths)
    if known is None or not _serves(known, address):
        known = _make(*paths, address)
    assert isinstance(known, x509.Certificate)
    digest = known.fingerprint(hashes.SHA256())
    return Certificate(*paths, ":".join(f"{byte:02X}" for byte in digest))


def _read(certificate: Path, key: Path) -> object | None:
    """The certificate whose key lies beside it, None where either cannot be read."""
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    try:
        known = x509.load_pem_x509_certificate(certificate.read_bytes())
        own = load_pem_private_key(key.read_bytes(), None)
    except (OSError, ValueError, TypeError):
        return None
    return known if own.public_key() == known.public_key() else None


def _serves(known: object, address: str) -> bool:
    from cryptography import x509

    assert isinstance(known, x509.Certificate)
    now = datetime.datetime.now(datetime.UTC)
    if not known.not_valid_before_utc <= now < known.not_valid_after_utc - _EARLY:
        return False
    names = known.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return ipaddress.ip_address(address) in names.get_values_for_type(x509.IPAddress)


def _make(certificate: Path, key: Path, address: str) -> object:
    """A certificate of its own signature for that address (RFC 5280), on the curve P-256."""
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    own = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "pic2chart desk")])
    began = datetime.datetime.now(datetime.UTC) - _EARLY
    names = x509.SubjectAlternativeName([x509.IPAddress(ipaddress.ip_address(address))])
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(own.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(began)
        .not_valid_after(began + datetime.timedelta(days=_DAYS))
        .add_extension(names, critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(own, hashes.SHA256())
    )
    text = own.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    write_atomic(key, text)
    write_atomic(certificate, made.public_bytes(serialization.Encoding.PEM))
    return made
