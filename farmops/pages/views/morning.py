"""The morning: every field's word and gauge on one page, kept by one button that plans again."""

import datetime as dt
import uuid
from collections.abc import Callable
from functools import partial
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core import clock
from farmops.desk.anew import newest_number
from farmops.desk.days import known_day, working_day
from farmops.desk.morning import MorningRefused, Rain, Round, Word, keep_and_plan
from farmops.farms.models import Farm, Membership, Role
from farmops.pages import morning_page, words
from farmops.pages.access import for_roles
from farmops.pages.boxes import Boxes, plain
from farmops.pages.kept_parts import KeptParts
from farmops.pages.morning_kept import morning_mark
from farmops.pages.today_people import named_and_idle, people_of
from farmops.pages.today_waits import Keep, waits_of
from farmops.pages.views.planning import not_planned, plan_page, planning_told
from scheduling.models import SaySoWord


@for_roles(Role.MANAGER)
def morning(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show the round on GET; on POST keep it whole and plan again, or give it back with what is wrong."""
    if request.method != "POST":
        return _shown(request, farm)
    boxes = Boxes(request.POST)
    form_id, day, rain_on = boxes.client_id(), boxes.day("day"), boxes.day("rain_on")
    if day is None or rain_on is None:
        raise Http404
    rows = morning_page.places(farm=farm)
    said, rains = _words(boxes, farm, rows, day), _rains(boxes, rows)
    today = working_day(farm=farm, today=clock.local_date(clock.now(), farm.zone))
    if day != today:
        boxes.wrong["day"] = _(
            "This page was that of {was}; it is that of {today} now. Look over what you tapped, then press again."
        ).format(was=words.long_date(day), today=words.long_date(today))
    if boxes.wrong:
        return _shown(request, farm, boxes)
    seen = boxes.text("seen")
    try:
        done = keep_and_plan(
            farm=farm,
            day=day,
            rain_on=rain_on,
            words=said,
            rains=rains,
            form_id=form_id,
            said_by=request.user,  # type: ignore[arg-type]
            seen=int(seen) if seen.isdecimal() and len(seen) < 9 else 0,
            now=clock.now(),
        )
    except MorningRefused as error:
        boxes.wrong |= {box: plain(says) for box, says in error.fields.items()}
        return _shown(request, farm, boxes)
    return _told(request, farm, done)


def _shown(request: HttpRequest, farm: Farm, boxes: Boxes | None = None) -> HttpResponse:
    now = clock.now()
    today = clock.local_date(now, farm.zone)
    known = known_day(farm=farm, today=today)

    def facts() -> dict[str, Any]:
        people, idle_hands = named_and_idle(people_of(farm=farm, day=known.day))
        return {
            "farm": farm,
            "people": people,
            "idle_hands": idle_hands,
            "seen": newest_number(farm=farm),
            "is_refused": boxes is not None,
            **morning_page.morning_facts(
                farm=farm,
                today=today,
                known=known,
                now=now,
                typed=boxes.typed if boxes else {},
                wrong=boxes.wrong if boxes else {},
            ),
        }

    kept = KeptParts(partial(morning_mark, farm=farm, known=known), of=farm.pk)

    def keep(name: str, of: object, make: Callable[[], Any]) -> Any:
        return kept.values(name, asked=(of, known), make=make)

    own: dict[str, Callable[[], str]] = {
        "waits": lambda: _waits(farm, now, keep),
        "form_id": lambda: str(uuid.uuid4()),
    }
    template = "pages/morning_body.html"
    if boxes is None:
        own["csrf_token"] = partial(get_token, request)
        body = kept.part(template, asked=(today, known), facts=facts, own=own)
    else:
        told = facts() | {name: make() for name, make in own.items()}
        body = mark_safe(render_to_string(template, told, request))
    context = {"farm": farm, "place": "morning", "body": body}
    return render(request, "pages/morning.html", context, status=422 if boxes else 200)


def _waits(farm: Farm, now: dt.datetime, keep: Keep[Any]) -> str:
    waits = waits_of(farm=farm, now=now, keep=keep)
    return mark_safe(render_to_string("pages/morning_waits.html", {"waits": waits}).rstrip("\n"))


def _words(boxes: Boxes, farm: Farm, rows: list[morning_page.Place], day: dt.date) -> list[Word]:
    """Return what is said anew; an hour that was moved without a tap is an "after" that hour."""
    standing = morning_page.standing_words(farm=farm, day=day)
    found = []
    for place in rows:
        box, before = f"word-{place.key}", morning_page.word_of(place, standing)
        word, hour = boxes.text(box), boxes.text(f"hour-{place.key}")
        if not word and hour and hour != boxes.text(f"was-{place.key}"):
            word = SaySoWord.AFTER
        if not word or morning_page.unchanged(word, hour, before):
            continue
        if word not in SaySoWord.values:
            boxes.wrong[box] = _("Say fit, after an hour, or not today.")
            continue
        after_at = None
        if word == SaySoWord.AFTER:
            after_at = boxes.hour(f"hour-{place.key}")
            if after_at is None:
                boxes.wrong[box] = boxes.wrong.pop(f"hour-{place.key}")
                continue
        found.append(Word(box, place.field, place.zone, word, after_at))
    return found


def _rains(boxes: Boxes, rows: list[morning_page.Place]) -> list[Rain]:
    found = []
    for place in rows:
        box = f"rain-{place.field.pk}"
        rain_in = boxes.number_if_any(box) if place.is_first else None
        if rain_in is not None:
            found.append(Rain(box, place.field, rain_in))
    return found


def _told(request: HttpRequest, farm: Farm, done: Round) -> HttpResponse:
    if done.was_kept_before and done.plan is not None:
        says = _("This round was kept before; plan {number} was made from it.")
        messages.success(request, says.format(number=done.plan.number))
        return plan_page(farm, done.plan.number)
    kept = _("This round was kept before.") if done.was_kept_before else _kept(done)
    back = reverse("pages:morning", args=[farm.code])
    if done.work is not None:
        return planning_told(request, farm, done.work, kept=kept, back=back)
    says = done.refused.says if done.refused is not None else ""
    return not_planned(request, farm, says, kept=kept, back=back)


def _kept(done: Round) -> str:
    count, gauges = done.kept.words, done.kept.gauges
    word = ngettext("{count} word", "{count} words", count).format(count=words.count_word(count))
    gauge = ngettext("{count} gauge reading", "{count} gauge readings", gauges)
    gauge = gauge.format(count=words.count_word(gauges))
    if not count and not gauges:
        return _("Nothing new was said.")
    if count and gauges:
        return words.capital(_("{words} and {gauges} are kept.").format(words=word, gauges=gauge))
    says = ngettext("{what} is kept.", "{what} are kept.", count + gauges)
    return words.capital(says.format(what=word if count else gauge))
