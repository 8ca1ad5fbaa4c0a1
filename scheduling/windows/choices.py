"""A farm's own choices over the limits that ship: another number, used or not, shuts or only advises."""

from collections.abc import Sequence
from dataclasses import replace

from scheduling.windows.limits import Choice, Effect, Limit, LimitKind, LimitsError, Quantity, refuse_number


def with_choices(limits: Sequence[Limit], choices: Sequence[Choice]) -> tuple[Limit, ...]:
    """Return the limits as chosen; of two choices about one limit the later in order goes before the earlier.

    What a choice leaves out stays as it was before it. Raises LimitsError for a key that no limit has, a number that
    makes no sense in the limit's unit, and for a choice that would relax what a label says.
    """
    chosen = {limit.key: limit for limit in limits}
    for choice in choices:
        if choice.key not in chosen:
            raise LimitsError(f"{choice.key!r}: there is no such limit; known are {', '.join(chosen)}.")
        chosen[choice.key] = _chosen(chosen[choice.key], choice)
    return tuple(chosen.values())


def known_choices(limits: Sequence[Limit], choices: Sequence[Choice]) -> tuple[list[Choice], list[str]]:
    """Return the choices that can be followed, and a sentence for each that no longer can."""
    followed, sentences = [], []
    for choice in choices:
        try:
            with_choices(limits, [choice])
        except LimitsError as error:
            sentences.append(f"A choice of {choice.set_at or 'some day'} is not followed: {error}")
        else:
            followed.append(choice)
    return followed, sentences


def _chosen(limit: Limit, choice: Choice) -> Limit:
    if choice.is_empty:
        return limit
    if limit.quantity is Quantity.MEMBER_SHARE and (
        choice.is_used is False or choice.effect is Effect.ADVICE
    ):
        raise LimitsError(f"{limit.key}: how sure an hour must be has a number; it cannot be left out.")
    if limit.kind is LimitKind.LABEL and (choice.is_used is False or choice.effect is Effect.ADVICE):
        raise LimitsError(f"{limit.key}: the label wins; it can be made stricter, never left out.")
    number = limit.number if choice.number is None else choice.number
    refuse_number(limit, number)
    return replace(
        limit,
        number=number,
        is_used=limit.is_used if choice.is_used is None else choice.is_used,
        effect=limit.effect if choice.effect is None else choice.effect,
        source=choice.source or limit.source,
        choice=choice,
    )
