"""Terms as the texts state them, the ledger of uses, and the answer to "may I?", always with the words."""
