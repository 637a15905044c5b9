"""How a limit of a plan and its value are said, in the reader's language."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from seasonplan.plans.terms import phase_word
from seasonplan.science.layout.limits import Limit
from seasonplan.science.words import number


def limit_line(limit: Limit, value: object) -> str:
    """`Event weeks in a row, at most: 2 weeks`."""
    return pgettext("label and value", "%(label)s: %(value)s") % {
        "label": _(limit.label),
        "value": shown_limit(limit, value),
    }


def shown_limit(limit: Limit, value: object) -> str:
    """A limit's value with its unit: `4 to 12 weeks`, `none`, `preparation`."""
    if value is None:
        return pgettext("value of a limit", "none")
    if isinstance(value, tuple):
        least, most = value
        said = _("%(least)d to %(most)d") % {"least": least, "most": most}
        return _with_unit(limit.unit, said, many=True)
    if isinstance(value, float | int):
        rounded = round(value, 2)
        digits = next(digits for digits in (0, 1, 2) if round(rounded, digits) == rounded)
        return _with_unit(limit.unit, number(rounded, digits), many=value != 1)
    return phase_word(str(value))


def unit_word(limit: Limit) -> str:
    """The unit beside the field where the limit is typed: `weeks`; empty where it has none."""
    return _(limit.unit) if limit.unit else ""


def _with_unit(unit: str, said: str, *, many: bool) -> str:
    n = 2 if many else 1
    forms = {
        "weeks": ngettext("%(number)s week", "%(number)s weeks", n),
        "days": ngettext("%(number)s day", "%(number)s days", n),
        "hours": ngettext("%(number)s hour", "%(number)s hours", n),
        "events": ngettext("%(number)s event", "%(number)s events", n),
        "blocks": ngettext("%(number)s block", "%(number)s blocks", n),
        "minutes a day": ngettext("%(number)s minute a day", "%(number)s minutes a day", n),
        "value an hour": _("%(number)s value an hour"),
        "value a day": _("%(number)s value a day"),
        "value an event": _("%(number)s value an event"),
        "value a change": _("%(number)s value a change"),
    }
    form = forms.get(unit, "%(number)s " + unit)
    return (form % {"number": said}).strip()
