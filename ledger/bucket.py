"""Blobs as objects in a bucket, over the S3 protocol. The first use loads its client library.

An object is written on the condition that none stands under its key (`If-None-Match: *`, RFC 9110,
13.1.2); a server that does not know the condition is asked before. Tries and waiting are bounded,
and neither bytes nor credentials reach a log or a message.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable
from typing import Any, TypeVar

from ledger.storage import BlobMissing, StorageDown, same

TRIES = 3
CONNECT_SECONDS = 5

_MISSING = {"404", "NoSuchKey", "NotFound"}
_STANDS = {"412", "PreconditionFailed"}
_AT_ONCE = {"409", "ConditionalRequestConflict", "OperationAborted"}
_UNKNOWN = {"501", "NotImplemented"}
_CLOSED = {
    "401", "403", "AccessDenied", "InvalidAccessKeyId", "SignatureDoesNotMatch", "ExpiredToken",
}  # fmt: skip

_NO_CREDENTIALS = {"NoCredentialsError", "PartialCredentialsError"}

T = TypeVar("T")


class Bucket:
    """A bucket and a prefix in it; see ledger.storage.Store."""

    def __init__(
        self,
        *,
        bucket: str,
        prefix: str = "",
        endpoint: str = "",
        region: str = "",
        key_id: str = "",
        key_secret: str = "",
        timeout: int = 30,
    ) -> None:
        """`endpoint`: the server's address, empty for the library's own; without `key_id` the
        library looks for credentials where it usually does. `timeout`: seconds for one answer."""
        import boto3  # type: ignore[import-untyped]
        from botocore.config import Config  # type: ignore[import-untyped]
        from botocore.exceptions import BotoCoreError  # type: ignore[import-untyped]
        from urllib3.exceptions import HTTPError

        self.bucket, self.prefix = bucket, prefix
        self.broken: tuple[type[Exception], ...] = (BotoCoreError, HTTPError, OSError)
        self.client: Any = boto3.session.Session().client(
            "s3",
            endpoint_url=endpoint or None,
            region_name=region or None,
            aws_access_key_id=key_id or None,
            aws_secret_access_key=key_secret or None,
            config=Config(
                connect_timeout=CONNECT_SECONDS,
                read_timeout=timeout,
                retries={"mode": "standard", "total_max_attempts": TRIES},
                s3={"addressing_style": "path" if endpoint else "auto"},
                signature_version="s3v4",
                # Not every server of the protocol knows the newer checksums; MD5 is sent instead.
                request_checksum_calculation="when_required",
                response_checksum_validation="when_required",
            ),
        )

    def put(self, key: str, data: bytes) -> None:
        """See Store. Whoever came first with the same bytes wins, and nobody loses."""
        if self.size(key) is not None:
            return same(self.get(key, len(data)), data, key)
        for condition in ({"IfNoneMatch": "*"}, {"IfNoneMatch": "*"}, {}):
            code = self._try_put(key, data, condition)
            if not code:
                return None
            if code in _STANDS or (code in _AT_ONCE and self.size(key) is not None):
                return same(self.get(key, len(data)), data, key)
        raise StorageDown(f"the storage did not take {key}: try again")

    def _try_put(self, key: str, data: bytes, condition: dict[str, str]) -> str:
        """The code of a refusal that a second look can mend; empty when the object stands."""
        md5 = base64.b64encode(hashlib.md5(data, usedforsecurity=False).digest()).decode()
        try:
            self._ask(
                lambda: self.client.put_object(
                    Bucket=self.bucket,
                    Key=self._name(key),
                    Body=data,
                    ContentMD5=md5,
                    ContentType="application/octet-stream",
                    **condition,
                )
            )
        except self.client.exceptions.ClientError as error:
            code = _code(error)
            if condition and code in _STANDS | _AT_ONCE | _UNKNOWN:
                return code
            raise StorageDown(self._refusal(code)) from None
        return ""

    def get(self, key: str, most: int) -> bytes:
        """See Store. An answer that breaks off is asked for again."""
        try:
            return self._ask(lambda: self._read(key, most))
        except self.client.exceptions.ClientError as error:
            code = _code(error)
            if code in _MISSING:
                raise BlobMissing(f"nothing stands under {key}") from None
            raise StorageDown(self._refusal(code)) from None

    def size(self, key: str) -> int | None:
        """See Store."""
        try:
            found = self._ask(
                lambda: self.client.head_object(Bucket=self.bucket, Key=self._name(key))
            )
        except self.client.exceptions.ClientError as error:
            code = _code(error)
            if code in _MISSING:
                return None
            raise StorageDown(self._refusal(code)) from None
        return int(found["ContentLength"])

    def _read(self, key: str, most: int) -> bytes:
        """One answer; one that breaks off while it is read is asked for again by us: the library
        tries again by itself only until an answer begins."""
        for left in reversed(range(TRIES)):
            found = self.client.get_object(Bucket=self.bucket, Key=self._name(key))
            try:
                with found["Body"] as body:
                    data: bytes = body.read(most + 1)
                return data
            except self.broken:
                if left == 0:
                    raise
        raise AssertionError  # the last try returns or raises

    def _ask(self, question: Callable[[], T]) -> T:
        """Ask, and say what to do where no answer comes; ClientError is left to the caller."""
        try:
            return question()
        except self.broken as error:
            if type(error).__name__ in _NO_CREDENTIALS:
                raise StorageDown(
                    "no credentials for the bucket: set COUNTERSHADE_S3_KEY_ID and "
                    "COUNTERSHADE_S3_KEY_SECRET"
                ) from None
            raise StorageDown(
                f"the storage does not answer ({type(error).__name__}): nothing was recorded. "
                "Look whether the server of COUNTERSHADE_S3_ENDPOINT runs and can be reached, "
                "then try again"
            ) from None

    def _refusal(self, code: str) -> str:
        if code == "NoSuchBucket":
            return f"there is no bucket {self.bucket}: make it, or correct COUNTERSHADE_BLOBS"
        if code in _CLOSED:
            return (
                f"the storage refuses this service ({code}): check COUNTERSHADE_S3_KEY_ID, "
                "COUNTERSHADE_S3_KEY_SECRET and their rights to read and write the bucket"
            )
        return f"the storage refuses ({code}): nothing was recorded, try again later"

    def _name(self, key: str) -> str:
        return f"{self.prefix}/{key}" if self.prefix else key


def _code(error: Any) -> str:
    return str(error.response.get("Error", {}).get("Code", ""))
