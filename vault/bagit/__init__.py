"""BagIt 1.0 (RFC 8493): building a bag and checking one; the checker shares nothing with the builder."""
