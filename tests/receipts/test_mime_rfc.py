"""The worked examples of the mail standards: RFC 5322 Appendix A, RFC 2047 §8, RFC 2231, RFC 2045/2046."""

from __future__ import annotations

from datetime import UTC

import pytest

from vault.receipts.mail_headers import decode_words, parse_parameters
from vault.receipts.mime import parse_mail

DATE = "Date: Fri, 21 Nov 1997 09:55:06 -0600\n"
ID = "Message-ID: <1234@local.machine.example>\n"
BODY = '\nThis is a message just to say hello.\nSo, "Hello".\n'
JOHN = "From: John Doe <jdoe@machine.example>\n"
MARY = "To: Mary Smith <mary@example.net>\n"
SUBJECT = "Subject: Saying Hello\n"
PLAIN = JOHN + MARY + SUBJECT + DATE + ID + BODY

# RFC 5322 Appendix A: section, message, sender, number in To, number in Cc, UTC, seconds since the epoch, Message-ID.
APPENDIX_A = [
    ("A.1.1", PLAIN, "jdoe@machine.example", 1, 0, "1997-11-21T15:55:06", 880127706, "1234@local.machine.example"),
    (
        "A.1.1 sender",
        JOHN + "Sender: Michael Jones <mjones@machine.example>\n" + MARY + SUBJECT + DATE + ID + BODY,
        "jdoe@machine.example", 1, 0, "1997-11-21T15:55:06", 880127706, "1234@local.machine.example",
    ),
    (
        "A.1.2",
        'From: "Joe Q. Public" <john.q.public@example.com>\n'
        "To: Mary Smith <mary@x.test>, jdoe@example.org, Who? <one@y.test>\n"
        'Cc: <boss@nil.test>, "Giant; \\"Big\\" Box" <sysservices@example.net>\n'
        "Date: Tue, 1 Jul 2003 10:52:37 +0200\nMessage-ID: <5678.21-Nov-1997@example.com>\n\nHi everyone.\n",
        "john.q.public@example.com", 3, 2, "2003-07-01T08:52:37", 1057049557, "5678.21-Nov-1997@example.com",
    ),
    (
        "A.1.3",
        "From: Pete <pete@silly.example>\n"
        "To: A Group:Ed Jones <c@a.test>,joe@where.test,John <jdoe@one.test>;\nCc: Undisclosed recipients:;\n"
        "Date: Thu, 13 Feb 1969 23:32:54 -0330\nMessage-ID: <testabcd.1234@silly.example>\n\nTesting.\n",
        "pete@silly.example", 3, 0, "1969-02-14T03:02:54", -27723426, "testabcd.1234@silly.example",
    ),
    ("A.2 first", PLAIN, "jdoe@machine.example", 1, 0, "1997-11-21T15:55:06", 880127706, "1234@local.machine.example"),
    (
        "A.2 reply",
        "From: Mary Smith <mary@example.net>\nTo: John Doe <jdoe@machine.example>\n"
        'Reply-To: "Mary Smith: Personal Account" <smith@home.example>\nSubject: Re: Saying Hello\n'
        "Date: Fri, 21 Nov 1997 10:01:10 -0600\nMessage-ID: <3456@example.net>\n"
        "In-Reply-To: <1234@local.machine.example>\nReferences: <1234@local.machine.example>\n\nThis is a reply.\n",
        "mary@example.net", 1, 0, "1997-11-21T16:01:10", 880128070, "3456@example.net",
    ),
    (
        "A.2 third",
        'To: "Mary Smith: Personal Account" <smith@home.example>\nFrom: John Doe <jdoe@machine.example>\n'
        "Subject: Re: Saying Hello\nDate: Fri, 21 Nov 1997 11:00:00 -0600\n"
        "Message-ID: <abcd.1234@local.machine.test>\nIn-Reply-To: <3456@example.net>\n"
        "References: <1234@local.machine.example> <3456@example.net>\n\nThis is a reply to your reply.\n",
        "jdoe@machine.example", 1, 0, "1997-11-21T17:00:00", 880131600, "abcd.1234@local.machine.test",
    ),
    ("A.3 first", PLAIN, "jdoe@machine.example", 1, 0, "1997-11-21T15:55:06", 880127706, "1234@local.machine.example"),
    (
        "A.3 resent",
        "Resent-From: Mary Smith <mary@example.net>\nResent-To: Jane Brown <j-brown@other.example>\n"
        "Resent-Date: Mon, 24 Nov 1997 14:22:01 -0800\nResent-Message-ID: <78910@example.net>\n" + PLAIN,
        "jdoe@machine.example", 1, 0, "1997-11-21T15:55:06", 880127706, "1234@local.machine.example",
    ),
    (
        "A.4",
        "Received: from x.y.test\n   by example.net\n   via TCP\n   with ESMTP\n   id ABC12345\n"
        "   for <mary@example.net>;  21 Nov 1997 10:05:43 -0600\n"
        "Received: from node.example by x.y.test; 21 Nov 1997 10:01:22 -0600\n"
        "From: John Doe <jdoe@node.example>\n" + MARY + SUBJECT + DATE + "Message-ID: <1234@local.node.example>\n" + BODY,
        "jdoe@node.example", 1, 0, "1997-11-21T15:55:06", 880127706, "1234@local.node.example",
    ),
    (
        "A.5",
        "From: Pete(A nice \\) chap) <pete(his account)@silly.test(his host)>\n"
        "To:A Group(Some people)\n     :Chris Jones <c@(Chris's host.)public.example>,\n"
        "         joe@example.org,\n  John <jdoe@one.test> (my dear friend); (the end of the group)\n"
        "Cc:(Empty list)(start)Hidden recipients  :(nobody(that I know))  ;\n"
        "Date: Thu,\n      13\n        Feb\n          1969\n      23:32\n               -0330 (Newfoundland Time)\n"
        "Message-ID:              <testabcd.1234@silly.test>\n\nTesting.\n",
        "pete@silly.test", 3, 0, "1969-02-14T03:02:00", -27723480, "testabcd.1234@silly.test",
    ),
    (
        "A.6.1",
        "From: Joe Q. Public <john.q.public@example.com>\n"
        "To: Mary Smith <@node.test:mary@example.net>, , jdoe@test  . example\n"
        "Date: Tue, 1 Jul 2003 10:52:37 +0200\nMessage-ID: <5678.21-Nov-1997@example.com>\n\nHi everyone.\n",
        "john.q.public@example.com", 2, 0, "2003-07-01T08:52:37", 1057049557, "5678.21-Nov-1997@example.com",
    ),
    (
        "A.6.2",
        JOHN + MARY + SUBJECT + "Date: 21 Nov 97 09:55:06 GMT\n" + ID + BODY,
        "jdoe@machine.example", 1, 0, "1997-11-21T09:55:06", 880106106, "1234@local.machine.example",
    ),
    (
        "A.6.3",  # CPython 3.11 loses every header of this one
        "From  : John Doe <jdoe@machine.example>\nTo    : Mary Smith\n  \n          <mary@example.net>\n"
        "Subject     : Saying Hello\nDate  : Fri, 21 Nov 1997 09(comment):   55  :  06 -0600\n"
        "Message-ID  : <1234   @   local(blah)  .machine .example>\n" + BODY,
        "jdoe@machine.example", 1, 0, "1997-11-21T15:55:06", 880127706, None,
    ),
]  # fmt: skip


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
@pytest.mark.parametrize(("section", "message", "sender", "to", "cc", "utc", "epoch", "ident"), APPENDIX_A)
def test_rfc5322_appendix_a(
    section: str, message: str, sender: str, to: int, cc: int, utc: str, epoch: int, ident: str | None, ending: str
) -> None:
    mail = parse_mail(message.replace("\n", ending).encode())
    assert mail.from_address == sender, section
    assert (len([a for a in mail.to if a.address]), len(mail.cc)) == (to, cc)
    assert mail.date is not None
    assert int(mail.date.timestamp()) == epoch
    assert mail.date.astimezone(tz=UTC).strftime("%Y-%m-%dT%H:%M:%S") == utc
    if ident is not None:
        assert mail.message_id == ident
    assert mail.text.strip().split("\n")[0] in message


def test_names_and_threads_of_appendix_a() -> None:
    by_section = {row[0]: parse_mail(row[1].encode()) for row in APPENDIX_A}
    assert by_section["A.1.2"].cc[1].name == 'Giant; "Big" Box'
    assert by_section["A.2 reply"].reply_to[0].address == "smith@home.example"
    assert by_section["A.2 third"].references == ("1234@local.machine.example", "3456@example.net")
    assert by_section["A.6.1"].to[0].address == "mary@example.net"
    assert by_section["A.6.1"].to[1].address == "jdoe@test.example"


# RFC 2047 section 8.  The bracketed forms are comments there; in a Subject they are decoded all the same, as CPython does.
RFC2047 = [
    ("=?US-ASCII?Q?Keith_Moore?=", "Keith Moore"),
    ("=?ISO-8859-1?Q?Keld_J=F8rn_Simonsen?=", "Keld Jørn Simonsen"),
    ("=?ISO-8859-1?Q?Andr=E9?= Pirard", "André Pirard"),
    ("=?ISO-8859-1?Q?Olle_J=E4rnefors?=", "Olle Järnefors"),
    ("=?ISO-8859-1?Q?Patrik_F=E4ltstr=F6m?=", "Patrik Fältström"),
    (
        "=?ISO-8859-1?B?SWYgeW91IGNhbiByZWFkIHRoaXMgeW8=?= =?ISO-8859-2?B?dSB1bmRlcnN0YW5kIHRoZSBleGFtcGxlLg==?=",
        "If you can read this you understand the example.",
    ),
    ("(=?ISO-8859-1?Q?a?=)", "(a)"),
    ("(=?ISO-8859-1?Q?a?= b)", "(a b)"),
    ("(=?ISO-8859-1?Q?a?= =?ISO-8859-1?Q?b?=)", "(ab)"),
    ("(=?ISO-8859-1?Q?a?=  =?ISO-8859-1?Q?b?=)", "(ab)"),
    ("(=?ISO-8859-1?Q?a_b?=)", "(a b)"),
    ("(=?ISO-8859-1?Q?a?= =?ISO-8859-2?Q?_b?=)", "(a b)"),
    # As found in mail: a character cut in two, a question mark and blanks inside, a language tag, no such charset.
    ("=?utf-8?B?S8O=?= =?utf-8?B?pGthdmE=?=", "Käkava"),
    ("=?utf-8?Q?Ist das alles??=", "Ist das alles?"),
    ("=?utf-8*de?Q?Gr=C3=B6=C3=9Fe?=", "Größe"),
    ("=?x-unknown?Q?Gr=C3=B6=C3=9Fe?=", "Größe"),
    ("=?iso-2022-jp?B?GyRCP0skSDduGyhC?=", "針と月"),
]


@pytest.mark.parametrize(("written", "meant"), RFC2047)
def test_rfc2047_encoded_words(written: str, meant: str) -> None:
    assert decode_words(written) == meant
    folded = written.replace("?= =?", "?=\n =?")
    assert parse_mail(f"From: a@b.example\nSubject: {folded}\n\n".encode()).subject == meant


RFC2231 = [
    (
        "text/x; title*0*=us-ascii'en'This%20is%20even%20more%20; title*1*=%2A%2A%2Afun%2A%2A%2A%20; title*2=\"isn't it!\"",
        "title",
        "This is even more ***fun*** isn't it!",
    ),
    (
        "attachment; filename*=UTF-8''Kleid%20%E2%80%93%20Gr%C3%B6%C3%9Fe%2038.pdf",
        "filename",
        "Kleid – Größe 38.pdf",
    ),
    ("attachment; filename=plain.pdf", "filename", "plain.pdf"),
    ('attachment; filename="semi;colon.pdf"', "filename", "semi;colon.pdf"),
    ("attachment; filename*0=kleid-; filename*1=A4.pdf", "filename", "kleid-A4.pdf"),
    ('attachment; filename="=?utf-8?Q?Gr=C3=B6=C3=9Fe.pdf?="', "filename", "Größe.pdf"),
    ("attachment; filename*=iso-8859-1''na%EFve.pdf", "filename", "naïve.pdf"),
    ("attachment; filename*1=b.pdf; filename*0=a-", "filename", "a-b.pdf"),
]


@pytest.mark.parametrize(("field", "name", "value"), RFC2231)
def test_rfc2231_parameters(field: str, name: str, value: str) -> None:
    assert parse_parameters(field.encode())[1][name] == value


@pytest.mark.parametrize(
    ("written", "clean"),
    [
        ("../../etc/passwd", "passwd"),  # comes through a mail reader untouched
        ("C:\\\\Users\\\\me\\\\kleid.pdf", "kleid.pdf"),
        ("a/b\\\\c.pdf", "c.pdf"),
        ("con.pdf", "_con.pdf"),
        ("...", "attachment-1.pdf"),
        ("kleid\u202efdp.exe", "kleidfdp.exe"),
        ("x" * 400 + ".pdf", "x" * 146 + ".pdf"),
        ("a:b*c?.pdf", "a_b_c_.pdf"),
    ],
)
def test_attachment_names_are_plain_names(written: str, clean: str) -> None:
    raw = (
        "From: a@b.example\nContent-Type: application/pdf\n"
        f'Content-Disposition: attachment; filename="{written}"\n\n%PDF-1.7\n'
    )
    (attachment,) = parse_mail(raw.encode()).attachments
    assert attachment.name == clean


def test_rfc2045_soft_line_breaks_join() -> None:
    body = "Now's the time =\r\nfor all folk to come=\r\n to the aid of their country."
    raw = f"From: a@b.example\r\nContent-Transfer-Encoding: quoted-printable\r\n\r\n{body}"
    assert parse_mail(raw.encode()).text == "Now's the time for all folk to come to the aid of their country."


def test_rfc2046_simple_boundary() -> None:
    raw = (
        "From: Nathaniel Borenstein <nsb@bellcore.com>\nMIME-Version: 1.0\n"
        'Content-type: multipart/mixed; boundary="simple boundary"\n\n'
        "This is the preamble.  It is to be ignored.\n--simple boundary\n\n"
        "This is implicitly typed plain US-ASCII text.\nIt does NOT end with a linebreak.\n"
        "--simple boundary\nContent-type: text/plain; charset=us-ascii\n\n"
        "This is explicitly typed plain US-ASCII text.\nIt DOES end with a linebreak.\n\n"
        "--simple boundary--\n\nThis is the epilogue.  It is also to be ignored.\n"
    )
    text = parse_mail(raw.encode()).text
    assert text == (
        "This is implicitly typed plain US-ASCII text.\nIt does NOT end with a linebreak.\n"
        "This is explicitly typed plain US-ASCII text.\nIt DOES end with a linebreak.\n"
    )
