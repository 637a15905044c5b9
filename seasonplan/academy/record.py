"""The page of an academy's change record: who changed what, when, and what it was before."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from urllib.parse import urlencode

from django import forms
from django.core.paginator import Page, Paginator
from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext_lazy

from seasonplan.academy.models import Academy, Change, Person

AT_ONCE: Final = 50
LONGEST_SEARCH: Final = 80


class RecordFilter(forms.Form):
    """What of the record to show."""

    what = forms.ChoiceField(
        label=pgettext_lazy("of a change", "What"),
        required=False,
        choices=[("", gettext_lazy("Everything")), *Change.What.choices],
    )
    q = forms.CharField(
        label=gettext_lazy("Name"),
        required=False,
        max_length=LONGEST_SEARCH,
        help_text=gettext_lazy("Of whoever did it, or whom it is about."),
        widget=forms.TextInput({"type": "search", "autocomplete": "off"}),
    )


@dataclass(frozen=True)
class Recorded:
    """One change as a line of the page."""

    at: datetime
    who: str
    what: str
    about: str
    subject: str
    before: str
    after: str
    path: str


@dataclass(frozen=True)
class RecordPage:
    academy: Academy
    form: RecordFilter
    changes: list[Recorded]
    page: Page[Any]
    newer: str
    older: str
    is_narrowed: bool


def record_page(academy: Academy, person: Person, asked: Any) -> RecordPage:
    """One page of the record, the newest first, in as many queries whatever it holds.

    `asked` is a query of `what`, `q` and `page`; what of it makes no sense counts as not asked.
    """
    form = RecordFilter(asked)
    form.is_valid()
    what, q = (form.cleaned_data.get(name, "") for name in ("what", "q"))
    rows = Change.objects.visible_to(person).filter(academy=academy)
    if what:
        rows = rows.filter(what=what)
    if q:
        rows = rows.filter(
            Q(who__name__icontains=q) | Q(person__name__icontains=q) | Q(player__name__icontains=q)
        )
    pages = Paginator(rows.select_related("who", "person", "player"), AT_ONCE)
    page = pages.get_page(asked.get("page"))
    kept = {"academy": academy.pk, "what": what, "q": q}
    return RecordPage(
        academy=academy,
        form=form,
        changes=[_recorded(change) for change in page],
        page=page,
        newer=_link(kept, page.previous_page_number()) if page.has_previous() else "",
        older=_link(kept, page.next_page_number()) if page.has_next() else "",
        is_narrowed=bool(what or q),
    )


def _link(kept: dict[str, Any], number: int) -> str:
    return "?" + urlencode(
        {name: value for name, value in kept.items() if value} | {"page": number}
    )


def _recorded(change: Change) -> Recorded:
    about = [str(one) for one in (change.person, change.player) if one]
    return Recorded(
        at=change.at,
        who=str(change.who) if change.who else _("The server, or somebody who left"),
        what=change.get_what_display(),
        about=" – ".join(about),
        subject=change.subject,
        before=change.before,
        after=change.after,
        path=change.path,
    )
