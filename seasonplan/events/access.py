"""Who may see and change an academy's event calendar.

Every member of the academy sees events and places; coaches and directors change them. Imports are
seen and made by coaches and directors alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Self

from django.db import models

from seasonplan.academy.access import member_ids

if TYPE_CHECKING:
    from seasonplan.academy.models import Person


class CalendarQuerySet(models.QuerySet[Any]):
    def visible_to(self, person: Person) -> Self:
        return self.filter(academy_id__in=member_ids(person))

    def editable_by(self, person: Person) -> Self:
        return self.filter(academy_id__in=member_ids(person, "coach", "director"))


class ImportQuerySet(models.QuerySet[Any]):
    def visible_to(self, person: Person) -> Self:
        return self.filter(academy_id__in=member_ids(person, "coach", "director"))

    editable_by = visible_to
