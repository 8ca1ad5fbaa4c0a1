"""Reports over the interface: stored once however often they are sent, with a receipt, and photos drawn anew."""

import uuid
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from rest_framework.test import APIClient

from farmops.core.models import User
from scheduling.models import FieldReport, ReportPhoto, WorkRecord
from scheduling.services.photos import MOST_BYTES, photo_path
from tests.api.conftest import Yard, client_of
from tests.scheduling import pictures

ID = "6f1c2c9e-6a50-4c8b-9a3e-0d6f5b1f7a11"


@pytest.fixture(autouse=True)
def _folder(settings: Any, tmp_path: Path) -> None:
    settings.PHOTO_DIR = str(tmp_path / "photos")


def work(yard: Yard, **body: Any) -> dict[str, Any]:
    return {
        "client_id": ID,
        "kind": "work",
        "made_at": "2026-04-21T18:00:00-04:00",
        "made_offset_min": -240,
        "body": {
            "pass_id": yard.place.field_pass.pk,
            "work_on": "2026-04-21",
            "hours": "2",
            "done_ac": "5",
            **body,
        },
    }


def post(client: APIClient, yard: Yard, report: dict[str, Any], **headers: str) -> Any:
    return client.post(f"{yard.at}reports/", report, format="json", headers=headers)


def upload(yard: Yard, content: bytes, *, client_id: str = ID, name: str = "IMG_1.jpg") -> Any:
    return client_of("hand-a").post(
        f"{yard.at}reports/{ID}/photos/",
        {"client_id": client_id, "photo": SimpleUploadedFile(name, content, "image/jpeg")},
        format="multipart",
    )


def test_a_report_is_kept_and_its_receipt_is_there_for_who_lost_the_answer(yard: Yard) -> None:
    client = client_of("hand-a")
    answer = post(client, yard, work(yard))
    assert answer.status_code == 201
    assert "Idempotency-Replayed" not in answer
    told = answer.json()
    assert (told["client_id"], told["state"], told["says"]) == (ID, "kept", "Report kept. Thank you.")
    assert (told["made_at"], told["made_offset_min"]) == ("2026-04-21T18:00:00-04:00", -240)
    receipt = client.get(f"{yard.at}reports/{ID}/").json()
    assert {**receipt, "says": told["says"]} == told
    assert WorkRecord.objects.get(client_id=ID).recorded_by == User.objects.get(username="hand-a")


def test_a_report_sent_again_is_answered_as_kept_before(yard: Yard) -> None:
    client = client_of("hand-a")
    post(client, yard, work(yard))
    for _time in range(3):
        again = post(client, yard, work(yard))
        assert (again.status_code, again["Idempotency-Replayed"]) == (200, "true")
    assert WorkRecord.objects.filter(client_id=ID).count() == 1


def test_the_same_id_with_something_else_is_refused_and_the_first_stands(yard: Yard) -> None:
    client = client_of("hand-a")
    post(client, yard, work(yard))
    refused = post(client, yard, work(yard, hours="3"))
    assert (refused.status_code, refused.json()["code"]) == (409, "client_id_reused")
    assert WorkRecord.objects.get(client_id=ID).hand_min == 120


def test_what_does_not_fit_is_accepted_and_waits(yard: Yard) -> None:
    answer = post(client_of("hand-a"), yard, work(yard, hours="25"))
    assert (answer.status_code, answer.json()["state"], answer.json()["code"]) == (
        202,
        "parked",
        "over_24_hours",
    )
    assert FieldReport.objects.get(client_id=ID).body["hours"] == "25"


def test_what_cannot_be_read_is_a_problem_with_pointers_and_is_not_kept(yard: Yard) -> None:
    answer = post(client_of("hand-a"), yard, work(yard, hours="1_000", color="red"))
    assert (answer.status_code, answer["Content-Type"]) == (422, "application/problem+json")
    assert (answer.json()["code"], {one["pointer"] for one in answer.json()["errors"]}) == (
        "report_unreadable",
        {"/body/hours", "/body/color"},
    )
    assert not FieldReport.objects.filter(client_id=ID).exists()


def test_a_hand_reports_for_nobody_else_and_the_manager_for_a_hand(yard: Yard) -> None:
    for_other = {**work(yard), "hand": "odell"}
    assert post(client_of("hand-a"), yard, for_other).status_code == 403
    assert post(client_of("manager-a"), yard, work(yard)).status_code == 422
    assert post(client_of("manager-a"), yard, for_other).status_code == 202  # the plan has imani do it
    assert client_of("hand-a").get(f"{yard.at}reports/{ID}/").status_code == 404
    assert client_of("bookkeeper-a").get(f"{yard.at}reports/{ID}/").status_code == 200


def test_a_hand_sees_own_reports_only(yard: Yard) -> None:
    post(client_of("manager-a"), yard, {**work(yard), "hand": "odell"})
    mine = client_of("hand-a").get(f"{yard.at}reports/").json()["results"]
    theirs = client_of("manager-a").get(f"{yard.at}reports/?hand=odell").json()["results"]
    assert ({row["hand"] for row in mine}, {row["hand"] for row in theirs}) == ({"imani"}, {"odell"})


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 403),
        ({"X-Requested-With": "queue"}, 403),
        ({"Sec-Fetch-Site": "same-origin"}, 403),
        ({"X-Requested-With": "queue", "Sec-Fetch-Site": "same-origin"}, 201),
        ({"X-Requested-With": "queue", "Sec-Fetch-Site": "cross-site"}, 403),
        ({"X-Requested-With": "queue", "Origin": "http://testserver"}, 201),
        ({"X-Requested-With": "queue", "Origin": "http://elsewhere.example"}, 403),
        (
            {"X-Requested-With": "queue", "Origin": "null", "Sec-Fetch-Site": "same-origin"},
            403,
        ),
    ],
)
def test_a_session_sends_without_a_token_from_its_own_pages_only(
    yard: Yard, headers: dict[str, str], status: int
) -> None:
    client = APIClient(enforce_csrf_checks=True)
    client.force_login(User.objects.get(username="hand-a"))
    assert post(client, yard, work(yard), **headers).status_code == status


def test_a_photo_is_kept_once_and_drawn_anew(yard: Yard) -> None:
    post(client_of("hand-a"), yard, work(yard))
    assert [upload(yard, pictures.with_place()).status_code for _time in range(2)] == [201, 200]
    photo = ReportPhoto.objects.get()
    assert b"Exif" not in photo_path(photo.stored_as).read_bytes()
    assert client_of("hand-a").get(f"{yard.at}reports/{ID}/").json()["photos"] == [ID]


@pytest.mark.parametrize(
    ("content", "status", "code"),
    [
        (pictures.named_like_a_picture(), 415, "photo_type"),
        (pictures.bomb(), 413, "photo_too_big"),
        (bytes(MOST_BYTES + 1), 413, "photo_too_big"),
        (bytes(MOST_BYTES + 100_000), 413, "photo_too_big"),
        (pictures.picture(size=(300, 300))[:-700], 422, "photo_refused"),
        (b"", 422, "invalid"),
    ],
    ids=["heic", "400 Mpx", "8 MB and a byte", "request too long", "cut", "empty"],
)
def test_a_photo_that_cannot_be_kept_is_said_by_its_number(
    yard: Yard, content: bytes, status: int, code: str
) -> None:
    post(client_of("hand-a"), yard, work(yard))
    answer = upload(yard, content)
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert ReportPhoto.objects.count() == 0


def test_an_upload_cut_off_keeps_nothing_and_can_be_sent_again(yard: Yard) -> None:
    """The body ends before its last boundary, as when the line breaks at 99 percent (RFC 2046, 5.1.1)."""
    post(client_of("hand-a"), yard, work(yard))
    content = pictures.picture(size=(400, 300), quality=95)
    whole = (
        b'--cut\r\nContent-Disposition: form-data; name="client_id"\r\n\r\n' + ID.encode() + b"\r\n"
        b'--cut\r\nContent-Disposition: form-data; name="photo"; filename="a.jpg"\r\n'
        b"Content-Type: image/jpeg\r\n\r\n" + content + b"\r\n--cut--\r\n"
    )
    answer = client_of("hand-a").generic(
        "POST",
        f"{yard.at}reports/{ID}/photos/",
        whole[: len(whole) * 99 // 100],
        content_type="multipart/form-data; boundary=cut",
    )
    assert answer.status_code in (400, 422)
    assert ReportPhoto.objects.count() == 0
    assert upload(yard, content).status_code == 201


def test_without_room_for_uploads_nothing_is_kept_and_it_can_be_sent_again(
    yard: Yard, settings: Any, tmp_path: Path
) -> None:
    """A photo over 2.5 MB is put by in the temporary folder while it comes in (Django's FILE_UPLOAD_MAX_MEMORY_SIZE)."""
    post(client_of("hand-a"), yard, work(yard))
    settings.FILE_UPLOAD_TEMP_DIR = str(tmp_path / "no room")
    content = pictures.picture("PNG", size=(1200, 900)) + bytes(3_000_000)
    client = client_of("hand-a")
    client.raise_request_exception = False
    address = f"{yard.at}reports/{ID}/photos/"
    sent = {"client_id": ID, "photo": SimpleUploadedFile("a.png", content, "image/png")}
    assert client.post(address, sent, format="multipart").status_code == 500
    assert not ReportPhoto.objects.exists()
    settings.FILE_UPLOAD_TEMP_DIR = None
    assert upload(yard, content).status_code == 201


def test_a_photo_of_a_report_of_somebody_else_finds_no_report(yard: Yard, other_yard: Yard) -> None:
    post(client_of("manager-a"), yard, {**work(yard), "hand": "odell"})
    assert upload(yard, pictures.picture()).status_code == 404
    theirs = client_of("hand-b").post(
        f"{other_yard.at}reports/{ID}/photos/",
        {"client_id": str(uuid.uuid4()), "photo": SimpleUploadedFile("a.jpg", pictures.picture())},
        format="multipart",
    )
    assert theirs.status_code == 404
