"""The fence around the `cryptography` package: every primitive that age v1 names, and nothing of age itself.

Nothing else in Pinfold imports that package.  It is imported inside the functions, so that a command that encrypts
nothing does not pay for loading it.
"""

from __future__ import annotations

import hashlib
import hmac
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cryptography.hazmat.primitives import hpke

TAG_BYTES = 16
KEY_BYTES = 32
_ZERO_NONCE = bytes(12)
ENC_BYTES = 1120  # MLKEM768-X25519: an ML-KEM-768 ciphertext (1088) and an X25519 share (32)
_MLKEM_CIPHERTEXT_BYTES = 1088
_MLKEM_PUBLIC_BYTES = 1184
HYBRID_PUBLIC_BYTES = _MLKEM_PUBLIC_BYTES + KEY_BYTES


class LowOrderError(ValueError):
    """A share is a low-order point: the shared secret would be all zero."""


class NotSupportedError(Exception):
    """The installed `cryptography` (or the library below it) lacks this primitive."""


def hmac_sha256(key: bytes, data: bytes) -> bytes:
    """HMAC-SHA-256 (RFC 2104)."""
    return hmac.digest(key, data, "sha256")


def same(one: bytes, other: bytes) -> bool:
    """Equality in constant time."""
    return hmac.compare_digest(one, other)


def hkdf(*, ikm: bytes, salt: bytes, info: bytes, n_bytes: int = KEY_BYTES) -> bytes:
    """HKDF-SHA-256 (RFC 5869)."""
    from cryptography.hazmat.primitives.hashes import SHA256
    from cryptography.hazmat.primitives.kdf.hkdf import HKDF

    return HKDF(algorithm=SHA256(), length=n_bytes, salt=salt, info=info).derive(ikm)


def scrypt(passphrase: bytes, *, salt: bytes, log_n: int, r: int = 8, p: int = 1, n_bytes: int = KEY_BYTES) -> bytes:
    """scrypt (RFC 7914) with N = 2**log_n; takes about 128 * r * N bytes.  Raises MemoryError."""
    from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

    return Scrypt(salt=salt, length=n_bytes, n=1 << log_n, r=r, p=p).derive(passphrase)


def seal(key: bytes, plaintext: bytes) -> bytes:
    """ChaCha20-Poly1305 (RFC 8439) with the all-zero nonce: only for a key that is used once."""
    from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305

    return ChaCha20Poly1305(key).encrypt(_ZERO_NONCE, plaintext, None)


def open_sealed(key: bytes, ciphertext: bytes) -> bytes | None:
    """The plaintext of `seal`, or None if the tag is wrong."""
    from cryptography.exceptions import InvalidTag
    from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305

    try:
        return ChaCha20Poly1305(key).decrypt(_ZERO_NONCE, ciphertext, None)
    except InvalidTag:
        return None


class ChunkCipher:
    """ChaCha20-Poly1305 under one key, from buffer to buffer.

    Releases of the package before 47 have no `encrypt_into`; there the result is copied, which is slower.
    """

    def __init__(self, key: bytes) -> None:
        from cryptography.exceptions import InvalidTag
        from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305

        self._cipher = ChaCha20Poly1305(key)
        self._invalid = InvalidTag
        self._into = hasattr(self._cipher, "encrypt_into") and hasattr(self._cipher, "decrypt_into")

    def seal_into(self, nonce: bytes, plaintext: memoryview, out: memoryview) -> None:
        """Encrypt into `out`, which must be TAG_BYTES longer than the plaintext."""
        if self._into:
            self._cipher.encrypt_into(nonce, plaintext, None, out)
        else:
            out[:] = self._cipher.encrypt(nonce, plaintext, None)

    def open_into(self, nonce: bytes, ciphertext: memoryview, out: memoryview) -> bool:
        """Decrypt into `out`, TAG_BYTES shorter; False if the tag is wrong: then `out` must not be used."""
        try:
            if self._into:
                self._cipher.decrypt_into(nonce, ciphertext, None, out)
            else:
                out[:] = self._cipher.decrypt(nonce, ciphertext, None)
        except self._invalid:
            return False
        return True


def x25519_public(secret: bytes) -> bytes:
    """X25519(secret, base point) (RFC 7748)."""
    from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey

    return X25519PrivateKey.from_private_bytes(secret).public_key().public_bytes_raw()


def x25519(secret: bytes, share: bytes) -> tuple[bytes, bytes]:
    """X25519(secret, base point) and X25519(secret, share) (RFC 7748), for the price of reading the secret once.

    Raises LowOrderError when the second is all zero.
    """
    from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey, X25519PublicKey

    key = X25519PrivateKey.from_private_bytes(secret)
    try:
        return key.public_key().public_bytes_raw(), key.exchange(X25519PublicKey.from_public_bytes(share))
    except ValueError as error:
        raise LowOrderError("the shared secret is all zero") from error


def hybrid_public(seed: bytes) -> bytes:
    """The public key of an MLKEM768-X25519 seed.  Raises NotSupportedError."""
    from cryptography.exceptions import UnsupportedAlgorithm

    mlkem_seed, x25519_secret = _expand(seed)
    try:
        from cryptography.hazmat.primitives.asymmetric.mlkem import MLKEM768PrivateKey

        public = MLKEM768PrivateKey.from_seed_bytes(mlkem_seed).public_key().public_bytes_raw()
    except (ImportError, AttributeError, UnsupportedAlgorithm) as error:
        raise NotSupportedError(str(error)) from error
    return public + x25519_public(x25519_secret)


def hybrid_seal(public: bytes, plaintext: bytes, info: bytes) -> tuple[bytes, bytes]:
    """HPKE SealBase (RFC 9180) to an MLKEM768-X25519 key: the encapsulated key and the ciphertext.

    Raises NotSupportedError, and ValueError for a key that is none.
    """
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PublicKey

    try:
        from cryptography.hazmat.primitives import hpke
        from cryptography.hazmat.primitives.asymmetric.mlkem import MLKEM768PublicKey

        key = hpke.MLKEM768X25519PublicKey(
            MLKEM768PublicKey.from_public_bytes(public[:_MLKEM_PUBLIC_BYTES]),
            X25519PublicKey.from_public_bytes(public[_MLKEM_PUBLIC_BYTES:]),
        )
        both = _hybrid_suite().encrypt(plaintext, key, info)
    except (ImportError, AttributeError, UnsupportedAlgorithm) as error:
        raise NotSupportedError(str(error)) from error
    return both[:ENC_BYTES], both[ENC_BYTES:]


def hybrid_open(seed: bytes, enc: bytes, ciphertext: bytes, info: bytes) -> bytes | None:
    """HPKE OpenBase with an MLKEM768-X25519 seed; None if the tag is wrong.

    Raises NotSupportedError, and LowOrderError, which the package does not tell from a wrong tag.
    """
    from cryptography.exceptions import InvalidTag, UnsupportedAlgorithm
    from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey

    mlkem_seed, x25519_secret = _expand(seed)
    x25519(x25519_secret, enc[_MLKEM_CIPHERTEXT_BYTES:])
    try:
        from cryptography.hazmat.primitives import hpke
        from cryptography.hazmat.primitives.asymmetric.mlkem import MLKEM768PrivateKey

        key = hpke.MLKEM768X25519PrivateKey(
            MLKEM768PrivateKey.from_seed_bytes(mlkem_seed), X25519PrivateKey.from_private_bytes(x25519_secret)
        )
        return _hybrid_suite().decrypt(enc + ciphertext, key, info)
    except InvalidTag:
        return None
    except (ImportError, AttributeError, UnsupportedAlgorithm) as error:
        raise NotSupportedError(str(error)) from error


def _expand(seed: bytes) -> tuple[bytes, bytes]:
    """draft-ietf-hpke-pq: SHAKE-256 of the seed gives the ML-KEM seed (d, z) and the X25519 secret."""
    expanded = hashlib.shake_256(seed).digest(96)
    return expanded[:64], expanded[64:]


def _hybrid_suite() -> hpke.Suite:
    from cryptography.hazmat.primitives import hpke

    return hpke.Suite(hpke.KEM.MLKEM768_X25519, hpke.KDF.HKDF_SHA256, hpke.AEAD.CHACHA20_POLY1305)
