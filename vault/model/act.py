"""What a person may want to do with a pattern, and what she may have done; apart, so that the program starts fast."""

from __future__ import annotations

from enum import StrEnum


class Act(StrEnum):
    """What a person may want to do.  The first is about the pattern, SELL and HIRE about finished pieces."""

    USE = "use"
    SELL = "sell"  # finished pieces
    TEACH = "teach"
    SHARE = "share"  # the file, with others
    ALTER = "alter"  # the file or the design
    PRINT = "print"  # print it again
    GIVE = "give"  # give a copy of the file away
    HIRE = "hire"  # sew (knit, crochet) for somebody who pays


class UseKind(StrEnum):
    """What the ledger counts."""

    MADE = "made"
    SOLD = "sold"
    GIVEN = "given"
    TAUGHT = "taught"
