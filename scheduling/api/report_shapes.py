"""How reports from the field come in as JSON, and their receipts go out."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from farmops.core.api import fields
from farmops.core.api.serializers import Shape
from farmops.farms.api.related import ByCode
from farmops.farms.models import Hand
from scheduling.models import FieldReport, ReportKind, ReportPhoto
from scheduling.selectors.reports import became_of, parked_of

STATES = ("kept", "parked", "set_aside")


class ReportTaken(Shape):
    """A report as it is sent. The values of its body are as they were typed; each kind has its own."""

    client_id = fields.ClientId()
    kind = fields.Word(choices=ReportKind.choices)
    body = fields.Document()
    hand = ByCode(Hand, required=False, allow_null=True, help_text="your own if left out")
    made_at = fields.Instant(
        required=False, allow_null=True, help_text="when it was written, by the sender's clock"
    )
    made_offset_min = fields.Whole(
        required=False, allow_null=True, min_value=-900, max_value=900, help_text="of that clock, from UTC"
    )
    sent_at = fields.Instant(
        required=False,
        allow_null=True,
        help_text="now, by the sender's clock: from it follows when it was written by ours",
    )


class ReportShown(Shape):
    """The receipt of a report: it is stored. `says` is in the language of its hand."""

    client_id = fields.ClientId(read_only=True)
    kind = fields.Text(read_only=True)
    hand = fields.Text(source="hand.code", read_only=True)
    body = fields.Document(read_only=True)
    made_at = fields.Instant(read_only=True, allow_null=True)
    made_offset_min = fields.Whole(read_only=True, allow_null=True)
    written_at = fields.Instant(
        read_only=True,
        allow_null=True,
        help_text="when it was written, by our clock, where that can be worked out",
    )
    received_at = fields.Instant(read_only=True)
    state = serializers.SerializerMethodField()
    code = serializers.SerializerMethodField(help_text="of the rule that it did not fit; empty where it fits")
    says = serializers.SerializerMethodField()
    photos = serializers.SerializerMethodField(help_text="ids that the sender made for its photos")

    @extend_schema_field(fields.Word(choices=STATES))
    def get_state(self, report: FieldReport) -> str:
        return became_of(report)

    def get_code(self, report: FieldReport) -> str:
        parked = parked_of(report)
        return "" if parked is None else parked.code

    def get_says(self, report: FieldReport) -> str:
        says: str | None = self.context.get("says")
        parked = parked_of(report)
        return says or ("" if parked is None else parked.why_for_hand)

    @extend_schema_field(serializers.ListField(child=serializers.UUIDField()))
    def get_photos(self, report: FieldReport) -> list[str]:
        return [str(photo.client_id) for photo in report.photos.all()]


class PhotoTaken(Shape):
    """A photo as it is sent: JPEG, PNG or WebP, at most 8 MB and 20 million pixels. A report holds four."""

    client_id = fields.ClientId()
    photo = serializers.FileField()


class PhotoShown(serializers.ModelSerializer):
    """The receipt of a photo, as it is stored."""

    class Meta:
        model = ReportPhoto
        fields = ("client_id", "sha256", "width_px", "height_px", "size_bytes", "recorded_at")
        read_only_fields = fields


def photo_of(taken: dict[str, Any]) -> bytes:
    """Return the bytes of a photo that was sent."""
    content: bytes = taken["photo"].read()
    return content
