"""Recipient types: who opens what, what may go together, and what is refused before any work."""

from __future__ import annotations

import importlib.util
import io
import sys

import pytest

from tests.age.vectors import IDENTITY, RECIPIENT, by_name
from vault.age import (
    HeaderError,
    HmacError,
    HybridIdentity,
    HybridRecipient,
    Identity,
    KeyTextError,
    NoMatchError,
    Recipient,
    ResourceError,
    ScryptIdentity,
    ScryptRecipient,
    X25519Identity,
    X25519Recipient,
    decrypt,
    encrypt,
    encrypted_size,
    primitives,
)
from vault.age.header import Header, Stanza
from vault.errors import DecryptionError, ExitStatus, UsageError

PHRASE = ScryptRecipient(passphrase="kettle thimble ruffle", log_n=6)
hybrid_only = pytest.mark.skipif(
    importlib.util.find_spec("cryptography.hazmat.primitives.hpke") is None, reason="no hybrid keys in this library"
)


def sealed(recipients: list[Recipient]) -> bytes:
    out = io.BytesIO()
    encrypt(io.BytesIO(b"plan"), out, recipients)
    return out.getvalue()


def opened(data: bytes, *identities: Identity) -> bytes:
    out = io.BytesIO()
    decrypt(io.BytesIO(data), out, identities)
    return out.getvalue()


def with_stanza(stanza: Stanza) -> bytes:
    return Header.made((stanza,), bytes(16)).encode() + bytes(32)


def test_each_of_several_recipients_opens_the_file() -> None:
    others = [X25519Identity.generate() for _ in range(3)]
    data = sealed([other.recipient() for other in others])
    for other in others:
        assert opened(data, IDENTITY, other) == b"plan"
    with pytest.raises(NoMatchError, match="none of the keys"):
        opened(data, IDENTITY)
    with pytest.raises(NoMatchError):
        opened(data)


def test_a_passphrase_opens_the_file_and_another_does_not() -> None:
    data = sealed([PHRASE])
    assert opened(data, IDENTITY, ScryptIdentity(passphrase=PHRASE.passphrase)) == b"plan"
    with pytest.raises(NoMatchError, match="passphrase"):
        opened(data, ScryptIdentity(passphrase="kettle thimble"))


def test_the_passphrase_is_its_utf_8_bytes_unchanged() -> None:
    data = sealed([ScryptRecipient(passphrase="Größe 38 ✂", log_n=4)])
    assert opened(data, ScryptIdentity(passphrase="Größe 38 ✂")) == b"plan"
    with pytest.raises(NoMatchError):
        opened(data, ScryptIdentity(passphrase="Gro\u0308ße 38 ✂"))


@pytest.mark.parametrize("text", ["", "\udcff"])
def test_a_passphrase_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(UsageError):
        ScryptRecipient(passphrase=text)
    with pytest.raises(UsageError):
        ScryptIdentity(passphrase=text)


@pytest.mark.parametrize("log_n", [0, 23, -1])
def test_a_work_factor_that_none_could_open_is_refused(log_n: int) -> None:
    with pytest.raises(ValueError, match="log_n"):
        ScryptRecipient(passphrase="pins", log_n=log_n)


@pytest.mark.parametrize(
    ("data", "ceiling"),
    [
        (by_name("scrypt_work_factor_23").file, 22),
        (by_name("scrypt").file, 9),
        (with_stanza(Stanza(args=(b"scrypt", b"A" * 22, b"9" * 5000), body=bytes(32))), 22),
    ],
    ids=["published-23", "own-ceiling", "5000-digits"],
)
def test_the_work_factor_is_held_against_the_ceiling_before_any_work(
    data: bytes, ceiling: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_work(*_: object, **__: object) -> bytes:
        raise AssertionError("scrypt was computed")

    monkeypatch.setattr(primitives, "scrypt", no_work)
    with pytest.raises(HeaderError, match=f"ceiling of {ceiling}"):
        opened(data, ScryptIdentity(passphrase="password", max_log_n=ceiling))


def test_the_body_length_is_checked_before_any_work(monkeypatch: pytest.MonkeyPatch) -> None:
    """C2SP age asks for it "to mitigate partitioning oracle attacks"."""

    def no_work(*_: object, **__: object) -> bytes:
        raise AssertionError("work was done")

    for name in ("scrypt", "x25519", "hybrid_open"):
        monkeypatch.setattr(primitives, name, no_work)
    long = bytes(48)
    stanzas: list[tuple[Stanza, Identity]] = [
        (Stanza(args=(b"scrypt", b"A" * 22, b"4"), body=long), ScryptIdentity(passphrase="pins")),
        (Stanza(args=(b"X25519", b"A" * 43), body=long), IDENTITY),
        (Stanza(args=(b"mlkem768x25519", b"A" * 1494), body=long), HybridIdentity(seed=bytes(32))),
    ]
    for stanza, identity in stanzas:
        with pytest.raises(HeaderError, match="48 bytes long"):
            opened(with_stanza(stanza), identity)


def test_too_little_memory_for_a_passphrase_is_a_plain_error(monkeypatch: pytest.MonkeyPatch) -> None:
    data = sealed([PHRASE])

    def no_memory(*_: object, **__: object) -> bytes:
        raise MemoryError

    monkeypatch.setattr(primitives, "scrypt", no_memory)
    with pytest.raises(ResourceError, match="memory"):
        opened(data, ScryptIdentity(passphrase=PHRASE.passphrase))


def test_a_passphrase_beside_another_recipient_is_refused_by_everyone() -> None:
    file_key = bytes(16)
    for stanzas in (
        (PHRASE.wrap(file_key), RECIPIENT.wrap(file_key)),
        (RECIPIENT.wrap(file_key), PHRASE.wrap(file_key)),
        (PHRASE.wrap(file_key), PHRASE.wrap(file_key)),
    ):
        data = Header.made(stanzas, file_key).encode() + bytes(32)
        for identity in (IDENTITY, ScryptIdentity(passphrase=PHRASE.passphrase)):
            with pytest.raises(HeaderError, match="only recipient"):
                opened(data, identity)


@pytest.mark.parametrize("recipients", [[], [PHRASE, RECIPIENT], [PHRASE, PHRASE]], ids=["none", "mixed", "two"])
def test_company_that_is_refused_when_encrypting(recipients: list[Recipient]) -> None:
    out = io.BytesIO()
    with pytest.raises(UsageError):
        encrypt(io.BytesIO(b"plan"), out, recipients)
    assert out.getvalue() == b""


def test_more_recipients_than_a_header_holds_are_refused() -> None:
    out = io.BytesIO()

    class Wide:
        kind = "wide"

        def wrap(self, file_key: bytes) -> Stanza:
            return Stanza(args=(b"wide",), body=bytes(1 << 20))

        def stanza_bytes(self) -> int:
            return len(self.wrap(b"").encode())

    with pytest.raises(UsageError, match="too many"):
        encrypt(io.BytesIO(b"plan"), out, [Wide()])
    assert out.getvalue() == b""


def test_a_changed_stanza_of_another_recipient_is_noticed() -> None:
    data = sealed([RECIPIENT, X25519Identity.generate().recipient()])
    lines = data.split(b"\n")
    lines[3] = b"-> example.test/grease"
    with pytest.raises(HmacError):
        opened(b"\n".join(lines), IDENTITY)


def test_a_low_order_public_key_is_refused() -> None:
    out = io.BytesIO()
    with pytest.raises(KeyTextError, match="no usable public key"):
        encrypt(io.BytesIO(b"plan"), out, [X25519Recipient(public=bytes(32))])
    assert out.getvalue() == b""


def test_secrets_do_not_show_in_a_repr() -> None:
    for value in (IDENTITY, HybridIdentity(seed=b"\x42" * 32), PHRASE, ScryptIdentity(passphrase=PHRASE.passphrase)):
        assert "42" not in repr(value)
        assert "B" * 5 not in repr(value)
        assert "thimble" not in repr(value)


@pytest.mark.parametrize("kind", [X25519Identity, HybridIdentity, X25519Recipient, HybridRecipient])
def test_a_key_of_the_wrong_length_is_refused(kind: type) -> None:
    name = next(iter(kind.__dataclass_fields__))  # type: ignore[attr-defined]
    for n_bytes in (0, 31, 33, 1184, 1217):
        with pytest.raises(ValueError, match="bytes"):
            kind(**{name: bytes(n_bytes)})


class TestHybrid:
    @hybrid_only
    def test_round_trip(self) -> None:
        one, two = HybridIdentity.generate(), HybridIdentity.generate()
        recipients = [one.recipient(), two.recipient()]
        data = sealed(list(recipients))
        assert len(data) == encrypted_size(4, recipients)
        assert opened(data, two) == opened(data, IDENTITY, one) == b"plan"
        with pytest.raises(NoMatchError):
            opened(data, HybridIdentity.generate(), IDENTITY)

    @hybrid_only
    def test_a_classic_recipient_beside_it_is_refused(self) -> None:
        with pytest.raises(UsageError, match="post-quantum"):
            sealed([HybridIdentity.generate().recipient(), RECIPIENT])

    @hybrid_only
    @pytest.mark.parametrize("public", [b"\xff" * 1216, bytes(1216)], ids=["no-ml-kem-key", "low-order"])
    def test_bytes_that_are_no_key_are_refused(self, public: bytes) -> None:
        with pytest.raises(KeyTextError, match="no usable public key"):
            sealed([HybridRecipient(public=public)])

    def test_an_older_library_fails_clearly_and_only_when_it_is_used(self, monkeypatch: pytest.MonkeyPatch) -> None:
        for name in ("hpke", "asymmetric.mlkem"):
            monkeypatch.setitem(sys.modules, f"cryptography.hazmat.primitives.{name}", None)
        identity = HybridIdentity(seed=bytes(32))
        assert identity.to_text().startswith("AGE-SECRET-KEY-PQ-1")
        assert opened(sealed([RECIPIENT]), identity, IDENTITY) == b"plan"
        public = bytes(1184) + RECIPIENT.public
        uses = [
            identity.recipient,
            lambda: sealed([HybridRecipient(public=public)]),
            lambda: opened(by_name("hybrid").file, identity),
        ]
        for use in uses:
            with pytest.raises(ResourceError, match="post-quantum") as caught:
                use()
            assert isinstance(caught.value, DecryptionError)
            assert caught.value.exit_status == ExitStatus.NOT_DONE
            assert "install" in caught.value.next_step
