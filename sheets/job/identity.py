"""What a packet is known by: frame, job and revision, in the few signs that a sheet and a code can bear."""

import hashlib

# The revision of a packet that was drawn and not yet added to.
REVISION = 1

# 40 bits: enough to tell a builder's jobs apart, short enough to read aloud. Own judgement.
DIGEST_DIGITS = 10


def job_digest(raw: bytes) -> str:
    """Return the first ten hexadecimal digits of SHA-256 over a job file's bytes, as they lie on the disk."""
    return hashlib.sha256(raw).hexdigest()[:DIGEST_DIGITS]


def qr_text(frame_id: str, digest: str, revision: int) -> str:
    """Return the line that a code on paper holds: frame id, short job digest and revision.

    Plain words and no address, so that any reader shows it whole: "DROPLEAF SCW-041 JOB 0123456789 REV 1".
    """
    return f"DROPLEAF {frame_id} JOB {digest} REV {revision}"
