"""Films, copies and pictures in a bucket of an S3-compatible store instead of on the disk.

The store is moto's: a server of its own, which knows the protocol and nothing of this portal.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import boto3
import pytest
from django.core.files.base import ContentFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from moto.server import ThreadedMotoServer

from portal.jobs import running
from portal.jobs.models import Job
from portal.kit import storage
from portal.people import consenting
from portal.people.models import Consent
from portal.recordings import copying, dropping, parting, sweeping
from portal.recordings.models import Arrival, Recording
from portal.settings import BUCKET
from tests.cast import NOW, Cast, signed_in
from tests.media import film
from tests.recordings import filmed
from tests.recordings.films import everything_kept, numbers
from tests.recordings.pieces import begun, head, patch

# What is done after a transaction counts here.
pytestmark = pytest.mark.django_db(transaction=True)
NAME = "films"
KEYS = {"access_key": "portal", "secret_key": "word", "region_name": "eu-central-1"}


@pytest.fixture(scope="module")
def store() -> Iterator[str]:
    """Its address."""
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    host, port = server.get_host_and_port()
    yield f"http://{host}:{port}"
    server.stop()


@pytest.fixture(autouse=True)
def bucket(store: str, settings) -> Iterator[Any]:
    """Empty, and where everything is kept."""
    resource = boto3.resource(
        "s3",
        endpoint_url=store,
        aws_access_key_id=KEYS["access_key"],
        aws_secret_access_key=KEYS["secret_key"],
        region_name=KEYS["region_name"],
    )
    bucket = resource.Bucket(NAME)
    bucket.create(CreateBucketConfiguration={"LocationConstraint": KEYS["region_name"]})
    options = {**BUCKET["OPTIONS"], **KEYS, "bucket_name": NAME, "endpoint_url": store}
    settings.STORAGES = {**settings.STORAGES, "default": {**BUCKET, "OPTIONS": options}}
    yield bucket
    bucket.objects.all().delete()
    bucket.delete()


def keys(bucket: Any) -> list[str]:
    return sorted(each.key for each in bucket.objects.all())


def folders(bucket: Any) -> list[str]:
    return sorted(key.split("/")[0] for key in keys(bucket))


def work() -> None:
    for job in Job.objects.filter(state=Job.State.QUEUED):
        assert running.run_one(job.code, worker="test", at=timezone.now())
        job.refresh_from_db()
        assert job.state == Job.State.DONE, job.last_error


def take(tmp_path: Path) -> bytes:
    return film(tmp_path / "take.mp4", frames=40).read_bytes()


@pytest.fixture
def sent(cast: Cast, tmp_path: Path) -> Recording:
    """Brought in piece by piece, and made ready by a worker."""
    client, whole = signed_in(cast.assistant), take(tmp_path)
    address = begun(client, cast, Upload_Length=str(len(whole)))
    assert patch(client, address, whole[:1000]).status_code == 204
    assert patch(client, address, whole[1000:], at=1000).status_code == 204
    work()
    recording = Recording.objects.get()
    assert recording.state == Recording.State.READY
    return recording


def url(name: str, thing) -> str:
    return reverse(f"recordings:{name}", args=[thing.code])


def test_it_works(
    cast: Cast, as_coach: Client, sent: Recording, bucket: Any, tmp_path: Path, settings, store: str
):
    whole = (tmp_path / "take.mp4").read_bytes()
    [original] = [key for key in keys(bucket) if key.startswith("originals/")]

    assert folders(bucket) == ["copies", "originals", "posters", "strips"]
    assert everything_kept() == [], "nothing is left on the disk"
    stored = bucket.Object(original).get()["Body"].read()
    assert hashlib.sha256(stored).hexdigest() == sent.sha256 == hashlib.sha256(whole).hexdigest()
    for picture in ("strip", "poster"):
        assert as_coach.get(url(picture, sent)).getvalue()[:3] == b"\xff\xd8\xff"
    copy = sent.renditions.get()
    with storage.at_hand(str(copy.file)) as path:
        assert numbers(path) == list(range(40))
        served = path.read_bytes()
    for xaccel in ("", "/protected/"):
        settings.XACCEL = xaccel
        answer = as_coach.get(url("film", copy))
        assert (answer.status_code, answer.getvalue()) == (200, served)
        # Not even for a while: whoever had such an address could hand it on.
        assert store.removeprefix("http://") not in str(answer.headers)
        assert "X-Accel-Redirect" not in answer.headers
    ask_for_parts(as_coach, url("film", copy), served, tag=f'"{copy.sha256}"')


def ask_for_parts(client: Client, address: str, whole: bytes, *, tag: str) -> None:
    size = len(whole)
    for asked, first, last in [
        ("0-0", 0, 0),
        ("0-1", 0, 1),
        ("100-199", 100, 199),
        ("-500", size - 500, size - 1),
        ("1000-", 1000, size - 1),
        ("5-99999999", 5, size - 1),
    ]:
        answer = client.get(address, headers={"Range": f"bytes={asked}"})
        assert answer.status_code == 206
        assert answer.headers["Content-Range"] == f"bytes {first}-{last}/{size}"
        assert answer.headers["Content-Length"] == str(last - first + 1)
        assert answer.getvalue() == whole[first : last + 1]
    beyond = client.get(address, headers={"Range": f"bytes={size}-"})
    held = client.get(address, headers={"If-None-Match": tag})
    assert (beyond.status_code, held.status_code) == (416, 304)


def test_a_form_brings_a_film_there_too(cast: Cast, as_coach: Client, bucket: Any, tmp_path: Path):
    whole = ContentFile(take(tmp_path), "lane 4.mp4")
    for status in (302, 422):
        assert as_coach.post(url("upload", cast.session), {"film": whole}).status_code == status

    assert keys(bucket) == [Recording.objects.get().original.name]
    assert everything_kept() == []


def test_a_no_holds_at_once(cast: Cast, sent: Recording):
    clip = filmed.clip(cast, sent, cast.swimmer, first=5, last=25)
    clip.showings.create(swimmer=cast.swimmer, since=NOW)
    copying.ask(clip, at=NOW)
    work()
    address, family = url("film", clip.renditions.get()), signed_in(cast.guardian)
    first = family.get(address, headers={"Range": "bytes=0-99"})
    assert (first.status_code, len(first.getvalue())) == (206, 100)

    consenting.answer(
        cast.swimmer, Consent.Purpose.SHOW, is_given=False, by=cast.guardian, at=timezone.now()
    )

    assert family.get(address, headers={"Range": "bytes=100-199"}).status_code == 404


def test_a_store_that_cannot_be_reached_loses_nothing(cast: Cast, tmp_path: Path, bucket: Any):
    """The film waits whole on the disk, and comes in when somebody asks how far it is."""
    client, whole = signed_in(cast.assistant), take(tmp_path)
    address = begun(client, cast, Upload_Length=str(len(whole)))
    client.raise_request_exception = False
    bucket.delete()

    assert patch(client, address, whole).status_code == 500
    assert parting.path_of(Arrival.objects.get().code).read_bytes() == whole
    bucket.create(CreateBucketConfiguration={"LocationConstraint": KEYS["region_name"]})
    assert head(client, address).headers["Upload-Offset"] == str(len(whole))

    assert keys(bucket) == [Recording.objects.get().original.name]
    assert everything_kept() == []


def test_what_is_dropped_is_gone_there(cast: Cast, as_coach: Client, bucket: Any):
    one = filmed.ready(cast)
    copy = one.renditions.get()
    put(bucket, str(one.original), str(copy.file), "strips/left.jpg")

    dropping.drop_due(at=NOW + timedelta(days=90))
    assert folders(bucket) == ["copies", "strips"]
    sweeping.sweep(at=timezone.now())
    assert folders(bucket) == ["copies", "strips"], "whose row may be coming"
    sweeping.sweep(at=timezone.now() + sweeping.FORSAKEN)
    assert keys(bucket) == [str(copy.file)]
    assert as_coach.get(url("film", copy)).getvalue() == b"film"
    bucket.objects.all().delete()
    assert as_coach.get(url("film", copy)).status_code == 404


def put(bucket: Any, *names: str) -> None:
    for name in names:
        bucket.put_object(Key=name, Body=b"film")
