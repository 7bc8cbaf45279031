"""What each check proves and what the reader still has to trust, in words."""

from __future__ import annotations

CHECKS = (
    (
        "manifest",
        "Manifest",
        "The file says which form of record it is, of which chain, with how many entries and blobs",
        "nothing yet: later checks compare each of these with the content",
    ),
    (
        "container",
        "Container",
        "Every byte around the contents is what the writer must have written; no hidden data",
        "nothing: the bytes are made again and compared",
    ),
    (
        "root",
        "Installation root",
        "The root certificate in the record is the one whose fingerprint you gave",
        "that the fingerprint you gave is the installation's, learnt apart from this file",
    ),
    (
        "checkpoint",
        "Checkpoint",
        "The root signed the number and hash of this chain's last entry at a stated time",
        "the root's holder for the time, and for not having signed a second, different chain: "
        "compare with checkpoints that the other side holds",
    ),
    (
        "headers",
        "Headers and links",
        "No entry was altered, removed, added or moved since the checkpoint was signed",
        "the server for the times and for who was logged in; where there is a signature, less",
    ),
    (
        "payloads",
        "Payloads",
        "Every payload that is given is the one that its header committed to when it was written; "
        "what is not given is counted",
        "nothing beyond the headers",
    ),
    (
        "blobs",
        "Blobs",
        "Every document that an entry names is present, complete and unaltered; nothing else is",
        "nothing beyond the headers; whether the documents are true is another question",
    ),
    (
        "keys",
        "Certified keys",
        "The root certified every signatory's key, in the chain, before it signed; where somebody "
        "who signs here got a new key, another person of the same organisation is named",
        "the installation for having certified the right person as the only one who holds the key, "
        "and the server for who confirmed a new one",
    ),
    (
        "signatures",
        "Signatures",
        "Each statement was signed with a key certified, and not revoked, for that person, "
        "organisation and side, over a document in this record, having seen an earlier entry of "
        "this chain; a passkey at its own origin, by a user whom the authenticator had verified",
        "for a service-held key: the operator, who could have used it; otherwise the signatory's "
        "care for the key, and the page and device on which it was used",
    ),
    (
        "seals",
        "Sealed documents",
        "Every sealed file is in this record, shows a document of it, and begins with the one that "
        "it continues; the certificates that seal it were entered before",
        "the service for what a sealed file shows; the seals inside it are checked by a PDF tool",
    ),
    (
        "note",
        "Checkpoint held",
        "This chain extends the checkpoint that you hold: nothing up to it was rewritten since",
        "that the note reached you as it was given out, at its time, and apart from this file",
    ),
)

NO_ROOT = (
    "nothing about who made the record: you named no root, so whoever made this file could have "
    "made a root, keys and signatures to fit",
    "that the root in the record is the installation's: ask for the fingerprint apart from this "
    "file, and run again with --root",
)
# Checks that stand on the root: what they prove is proven under that root alone.
ON_THE_ROOT = {"checkpoint", "headers", "keys", "signatures", "seals", "note"}
UNDER_ANY_ROOT = "the root in the record, which nobody has named; and then: "
BEYOND = (
    "that each person understood what they signed, and that what they wrote is true: "
    "no check can prove that"
)
NO_NOTE = (
    "nothing about the time before this checkpoint: you gave no earlier one to compare with",
    "the root's holder for never having signed another history of this chain: give a checkpoint "
    "note that you kept, with --extends",
)
PART_TRUSTS = (
    "whoever made this part for having left out nothing else that belongs to the matter: what has "
    "a subject of its own may be withheld as a whole; ask for the whole record where it counts"
)


def erased_words(count: int) -> str:
    """What is to trust where payloads were erased."""
    return f"the operator for what the {count} erased payloads said: they can be read no more"
