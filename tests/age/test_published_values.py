"""The primitives behind their fence, against the values their standards publish."""

from __future__ import annotations

import hashlib

import pytest

from vault.age import primitives

LADIES = (
    b"Ladies and Gentlemen of the class of '99: If I could offer you only one tip for the future, "
    b"sunscreen would be it."
)


@pytest.mark.parametrize(
    ("message", "digest"),
    [
        (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (
            b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
        (
            b"abcdefghbcdefghicdefghijdefghijkefghijklfghijklmghijklmnhijklmnoijklmnopjklmnopqklmnopqrlmnopqrs"
            b"mnopqrstnopqrstu",
            "cf5b16a778af8380036ce59e7b0492370b249b11e8f07a51afac45037afee9d1",
        ),
        (b"a" * 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
    ],
    ids=["empty", "abc", "two-blocks", "long", "million-a"],
)
def test_sha256_fips_180_4(message: bytes, digest: str) -> None:
    assert hashlib.sha256(message).hexdigest() == digest


def test_chacha20_poly1305_rfc_8439_section_2_8_2() -> None:
    """The RFC's example has associated data, which age never uses, so the raw cipher stands in for the fence."""
    from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305

    sealed = ChaCha20Poly1305(bytes(range(0x80, 0xA0))).encrypt(
        bytes.fromhex("070000004041424344454647"), LADIES, bytes.fromhex("50515253c0c1c2c3c4c5c6c7")
    )
    assert sealed[:16].hex() == "d31a8d34648e60db7b86afbc53ef7ec2"
    assert sealed[-16:].hex() == "1ae10b594f09e26a7e902ecbd0600691"


def test_chunk_cipher_agrees_with_the_rfc_8439_key_stream() -> None:
    """The tag of section 2.8.2 covers associated data; the cipher text does not depend on it."""
    cipher = primitives.ChunkCipher(bytes(range(0x80, 0xA0)))
    nonce = bytes.fromhex("070000004041424344454647")
    out = bytearray(len(LADIES) + 16)
    cipher.seal_into(nonce, memoryview(LADIES), memoryview(out))
    assert out[:16].hex() == "d31a8d34648e60db7b86afbc53ef7ec2"
    plain = bytearray(len(LADIES))
    assert cipher.open_into(nonce, memoryview(out), memoryview(plain))
    assert bytes(plain) == LADIES
    out[-1] ^= 1
    assert not cipher.open_into(nonce, memoryview(out), memoryview(plain))


X25519_SCALAR = bytes.fromhex("a546e36bf0527c9d3b16154b82465edd62144c0ac1fc5a18506a2244ba449ac4")
X25519_U = bytes.fromhex("e6db6867583030db3594c1a424b15f7c726624ec26b3353b10a903a6d0ab1c4c")
ALICE = bytes.fromhex("77076d0a7318a57d3c16c17251b26645df4c2f87ebc0992ab177fba51db92c2a")
BOB = bytes.fromhex("5dab087e624a8a4b79e17f8b83800ee66f3bb1292618b6fd1c2f8b27ff88e0eb")
ALICE_PUBLIC = bytes.fromhex("8520f0098930a754748b7ddcb43ef75a0dbf3a0d26381af4eba4a98eaa9b4e6a")
BOB_PUBLIC = bytes.fromhex("de9edb7d7b7dc1b4d35b61c2ece435373f8343c85b78674dadfc7e146f882b4f")


def test_x25519_rfc_7748_section_5_2() -> None:
    _, shared = primitives.x25519(X25519_SCALAR, X25519_U)
    assert shared.hex() == "c3da55379de9c6908e94ea4df28d084f32eccf03491c71f754b4075577a28552"


def test_x25519_rfc_7748_section_5_2_iterated() -> None:
    k = u = (9).to_bytes(32, "little")
    after = {}
    for i in range(1, 1001):
        k, u = primitives.x25519(k, u)[1], k
        after[i] = k.hex()
    assert after[1] == "422c8e7a6227d7bca1350b3e2bb7279f7897b87bb6854b783c60e80311ae3079"
    assert after[1000] == "684cf59ba83309552800ef566f2f4d3c1c3887c49360e3875f2eb94d99532c51"


def test_x25519_rfc_7748_section_6_1() -> None:
    assert primitives.x25519_public(ALICE) == ALICE_PUBLIC
    assert primitives.x25519_public(BOB) == BOB_PUBLIC
    shared = bytes.fromhex("4a5d9d5ba4ce2de1728e3bf480350f25e07e21c947d19e3376f09b3c1e161742")
    assert primitives.x25519(ALICE, BOB_PUBLIC) == (ALICE_PUBLIC, shared)
    assert primitives.x25519(BOB, ALICE_PUBLIC) == (BOB_PUBLIC, shared)


def test_x25519_rfc_7748_section_6_1_all_zero_shared_secret_is_refused() -> None:
    with pytest.raises(primitives.LowOrderError):
        primitives.x25519(ALICE, bytes(32))


@pytest.mark.parametrize(
    ("salt", "info", "n_bytes", "okm"),
    [
        (
            bytes(range(0x0D)),
            bytes(range(0xF0, 0xFA)),
            42,
            "3cb25f25faacd57a90434f64d0362f2a2d2d0a90cf1a5a4c5db02d56ecc4c5bf34007208d5b887185865",
        ),
        (b"", b"", 42, "8da4e775a563c18f715f802a063c5a31b8a11f5c5ee1879ec3454e5f3c738d2d9d201395faa4b61a96c8"),
    ],
    ids=["A.1", "A.3"],
)
def test_hkdf_sha256_rfc_5869(salt: bytes, info: bytes, n_bytes: int, okm: str) -> None:
    assert primitives.hkdf(ikm=b"\x0b" * 22, salt=salt, info=info, n_bytes=n_bytes).hex() == okm


@pytest.mark.parametrize(
    ("passphrase", "salt", "log_n", "r", "p", "begins"),
    [
        (b"", b"", 4, 1, 1, "77d6576238657b203b19ca42c18a0497"),
        (b"password", b"NaCl", 10, 8, 16, "fdbabe1c9d3472007856e7190d01e9fe"),
        (b"pleaseletmein", b"SodiumChloride", 14, 8, 1, "7023bdcb3afd7348461c06cd81fd38eb"),
    ],
)
def test_scrypt_rfc_7914_section_12(passphrase: bytes, salt: bytes, log_n: int, r: int, p: int, begins: str) -> None:
    key = primitives.scrypt(passphrase, salt=salt, log_n=log_n, r=r, p=p, n_bytes=64)
    assert key[:16].hex() == begins


def test_scrypt_at_the_usual_work_factor_has_the_memory_it_needs() -> None:
    """N = 2**18, r = 8 wants just over 256 MiB, more than the default limit of some bindings."""
    assert len(primitives.scrypt(b"wardrobe", salt=b"salt", log_n=18)) == 32
