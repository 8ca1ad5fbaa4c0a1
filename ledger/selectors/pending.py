"""What has no posting yet, and what waits for something before it can be posted."""

from django.db.models import Exists, OuterRef, QuerySet

from farmops.farms.models import Farm
from ledger.models import Bill, BillPayment, Entry, OpeningStock, PostingWait
from scheduling.models import CareDone, WorkRecord


def pending_work(*, farm: Farm) -> QuerySet[WorkRecord]:
    """Return the work records without a posting, oldest work first; a superseded one is never posted."""
    return (
        WorkRecord.objects.filter(farm=farm, superseded_by__isnull=True)
        .filter(~Exists(Entry.objects.filter(work_record=OuterRef("pk"))))
        .select_related("hand", "machine", "implement", "field_pass__season__field")
        .prefetch_related("inputs")
        .order_by("work_on", "id")
    )


def pending_bills(*, farm: Farm) -> QuerySet[Bill]:
    """Return the bills without a posting, oldest first; a superseded one is never posted."""
    return (
        Bill.objects.filter(farm=farm, superseded_by__isnull=True)
        .filter(~Exists(Entry.objects.filter(bill=OuterRef("pk"))))
        .select_related(
            "payee",
            "machine",
            "implement",
            "pump",
            "season__field",
            "incident__farm",
            "incident__field",
            "incident__season__field",
            "incident__machine",
            "incident__implement",
        )
        .prefetch_related("items__season__field", "items__machine")
        .order_by("bill_on", "id")
    )


def pending_payments(*, farm: Farm) -> QuerySet[BillPayment]:
    """Return the payments without a posting, oldest first; one whose bill was corrected and paid anew is never posted."""
    return (
        BillPayment.objects.filter(farm=farm, bill__superseded_by__payment__isnull=True)
        .filter(~Exists(Entry.objects.filter(payment=OuterRef("pk"))))
        .select_related("bill__payee", "bill__supersedes")
        .prefetch_related("bill__items")
        .order_by("paid_on", "id")
    )


def pending_openings(*, farm: Farm) -> QuerySet[OpeningStock]:
    """Return opening stock without a posting, oldest first; a superseded one is never posted."""
    return (
        OpeningStock.objects.filter(farm=farm, superseded_by__isnull=True)
        .filter(~Exists(Entry.objects.filter(opening=OuterRef("pk"))))
        .order_by("on", "id")
    )


def pending_care(*, farm: Farm) -> QuerySet[CareDone]:
    """Return the services done without a posting, oldest first; a superseded one is never posted."""
    return (
        CareDone.objects.filter(farm=farm, superseded_by__isnull=True)
        .filter(~Exists(Entry.objects.filter(care_done=OuterRef("pk"))))
        .select_related("farm", "hand", "rule__machine", "rule__implement", "rule__pivot__field")
        .order_by("done_at", "id")
    )


def waiting_postings(farm: Farm) -> QuerySet[PostingWait]:
    """Return what waits on a farm, with the sentence that says for what."""
    return PostingWait.objects.filter(farm=farm)
