"""The choices of a box: one option each, what is typed selected, nothing of it taken for markup."""

from django.template import Context, Template
from django.utils.safestring import mark_safe

PLAIN = (
    '{% for pk, name in rows %}<option value="{{ pk }}"{% if chosen == pk|stringformat:"s" %} selected{% endif %}>'
    "{{ name }}</option>{% endfor %}"
)


def drawn(text: str, **facts: object) -> str:
    return Template("{% load options %}" + text).render(Context(facts))


def test_options_are_what_a_loop_in_a_template_writes() -> None:
    rows = [(7, "Gin 20"), (32005, "Odell & sons"), ("a<b", "“5' 6\"”"), ("", mark_safe("<b>all</b>"))]
    for chosen in ("", "7", "32005", "a<b", "9", None):
        assert drawn("{% options rows chosen %}", rows=rows, chosen=chosen) == drawn(
            PLAIN, rows=rows, chosen=chosen
        )
    assert drawn("{% options rows typed.field %}", rows=[(7, "Gin")], typed={"field": "7"}) == (
        '<option value="7" selected>Gin</option>'
    )
    assert drawn("{% options rows typed.field %}", rows=[(7, "Gin")], typed={}) == (
        '<option value="7">Gin</option>'
    )


def test_what_is_offered_while_somebody_types_is_no_markup() -> None:
    plain = '{% for one in rows %}<option value="{{ one }}"></option>{% endfor %}'
    rows = ["gin-20", "incident 7", '"><script>', 12]
    assert drawn("{% offered rows %}", rows=rows) == drawn(plain, rows=rows)
    assert drawn("{% offered rows %}", rows=[]) == ""


def test_boxes_to_tick_are_what_a_loop_in_a_template_writes() -> None:
    plain = (
        '{% for value, says in rows %}<label><input type="checkbox" name="hands" value="{{ value }}"'
        "{% if value in chosen %} checked{% endif %}><span>{{ says }}</span></label>{% endfor %}"
    )
    rows = [("rosa", "Rosa"), ("odell", "Odell & sons"), ("a<b", "“5' 6\"”")]
    for chosen in ([], ["odell"], ["a<b", "rosa"], ["gone"]):
        assert drawn('{% ticks "hands" rows chosen %}', rows=rows, chosen=chosen) == drawn(
            plain, rows=rows, chosen=chosen
        )
