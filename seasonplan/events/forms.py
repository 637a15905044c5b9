"""What people type into the event calendar: events, places, and what the columns of a file are."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext, pgettext_lazy

from seasonplan.academy.models import Person, Surface
from seasonplan.events.changing import change_events
from seasonplan.events.columns import FIELDS, missing_columns
from seasonplan.events.importing import Preview
from seasonplan.events.models import Event, EventImport, Place
from seasonplan.events.placing import Choice, Places
from seasonplan.events.tables import LARGEST_FILE_BYTES
from seasonplan.science.countries import country_code
from seasonplan.science.words import month, number
from seasonplan.web.widgets import DayInput


class PlaceForm(forms.ModelForm):
    """A place typed in full, or one to correct."""

    country = forms.CharField(
        label=gettext_lazy("Country"),
        max_length=60,
        required=False,
        help_text=gettext_lazy("Its name or two-letter code."),
    )

    class Meta:
        model = Place
        fields = ("place_name", "country", "lat", "lon", "timezone", "elevation_m")
        labels = {
            "place_name": gettext_lazy("Place"),
            "lat": gettext_lazy("Latitude"),
            "lon": gettext_lazy("Longitude"),
            "timezone": gettext_lazy("Time zone"),
            "elevation_m": gettext_lazy("Elevation (m)"),
        }
        help_texts = {
            "lat": gettext_lazy("Degrees; south is negative, such as -33.87 for Sydney."),
            "lon": gettext_lazy("Degrees; west is negative, such as -58.38 for Buenos Aires."),
            "timezone": gettext_lazy("A name such as Europe/Madrid."),
            "elevation_m": gettext_lazy("Of the courts, in metres above the sea."),
        }
        widgets = {
            "lat": forms.NumberInput({"step": "any"}),
            "lon": forms.NumberInput({"step": "any"}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _ask_kindly(self)

    @property
    def begun(self) -> bool:
        """True once somebody typed something; the elevation that stands there does not count."""
        changed = set(self.changed_data)
        if self["elevation_m"].data in (None, "", "0"):
            changed.discard("elevation_m")
        return bool(changed)

    def clean_country(self) -> str:
        typed: str = self.cleaned_data["country"]
        code = country_code(typed) if typed else ""
        if code is None:
            raise forms.ValidationError(
                _(
                    "“%(country)s” is not a country that is known. Write its English name or its "
                    "two-letter code."
                )
                % {"country": typed}
            )
        return code

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        name = cleaned.get("place_name", "")
        same = Place.objects.filter(
            academy=self.instance.academy,
            place_name__iexact=name,
            country=cleaned.get("country", ""),
        ).exclude(pk=self.instance.pk)
        if name and same.exists():
            self.add_error(
                "place_name",
                _(
                    "The calendar has a place “%(place)s” in this country already. Choose that "
                    "one, or give this one another name."
                )
                % {"place": name},
            )
        return cleaned

    def save(self, commit: bool = True) -> Place:
        # By hand it is the academy's own: undoing an import leaves it where it is.
        self.instance.came_with = None
        place: Place = super().save(commit)
        return place


class EventForm(forms.ModelForm):
    """An event and where it is: found by what is typed, chosen from a list, or typed in full.

    `new_place` is the bound or unbound form for typing a place in full; once anything is in it, it
    goes before the search.
    """

    q = forms.CharField(
        label=gettext_lazy("Place"),
        max_length=120,
        required=False,
        help_text=gettext_lazy("A city or an airport code, such as Valencia, ES or VLC."),
        widget=forms.TextInput({"autocomplete": "off"}),
    )
    place_choice = forms.CharField(required=False, max_length=40)
    chosen_for = forms.CharField(required=False, max_length=120)

    class Meta:
        model = Event
        fields = (
            "name",
            "start",
            "end",
            "surface",
            "indoor",
            "draw_size",
            "level",
            "high_c",
            "humidity_percent",
            "entry_deadline",
            "withdrawal_deadline",
            "entry_fee",
            "dates_unconfirmed",
            "cancelled",
        )
        labels = {
            "name": pgettext_lazy("of an event", "Name"),
            "surface": gettext_lazy("Surface"),
            "indoor": gettext_lazy("Indoors"),
            "draw_size": gettext_lazy("Draw size"),
            "level": gettext_lazy("Level"),
            "entry_deadline": gettext_lazy("Entry deadline"),
            "withdrawal_deadline": gettext_lazy("Withdrawal deadline"),
            "entry_fee": gettext_lazy("Entry fee"),
            "cancelled": gettext_lazy("Cancelled"),
        }
        help_texts = {
            "high_c": gettext_lazy(
                "What is usual there at that time of year; empty if you do not know."
            ),
            "humidity_percent": gettext_lazy(
                "At the hottest hour of the day, when it is at its lowest; mornings are much "
                "moister."
            ),
            "entry_deadline": gettext_lazy("The last day to enter."),
            "withdrawal_deadline": gettext_lazy("The last day to withdraw without a penalty."),
            "entry_fee": gettext_lazy("In the currency that your academy counts in."),
        }
        widgets = {
            "start": DayInput(),
            "end": DayInput(),
            "entry_deadline": DayInput(),
            "withdrawal_deadline": DayInput(),
            "high_c": forms.NumberInput({"step": "any"}),
            "level": forms.TextInput({"list": "levels", "autocomplete": "off"}),
        }

    def __init__(
        self,
        data: Any = None,
        *,
        instance: Event,
        places: Places,
        new_place: PlaceForm,
        by: Person | None = None,
    ) -> None:
        at = {"q": str(instance.place)} if instance.place_id else {}
        super().__init__(data, instance=instance, initial=at)
        surface = self.fields["surface"]
        assert isinstance(surface, forms.ChoiceField)
        surface.choices = [("", _("Choose one")), *Surface.choices]
        _ask_kindly(self)
        self.places = places
        self.new_place = new_place
        self.by = by
        self.choices: list[Choice] = []
        self.chosen = ""

    @property
    def typing_a_place(self) -> bool:
        """True when the fields for a new place should be in sight."""
        return self.is_bound and (self.new_place.begun or not self.choices)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        place = self._place(cleaned)
        if place is not None:
            self.instance.place = place
        name, start = cleaned.get("name"), cleaned.get("start")
        if name and start:
            same = Event.objects.filter(
                academy=self.instance.academy, name__iexact=name, start=start
            ).exclude(pk=self.instance.pk)
            if same.exists():
                self.add_error(
                    "name", _("The calendar has an event of this name on this first day.")
                )
        return cleaned

    def save(self, commit: bool = True) -> Event:
        """Save the event and its place; what plans rest on is remembered as a change."""
        with transaction.atomic():
            if self.instance.place.pk is None:
                self.instance.place.save()
                self.instance.place = self.instance.place
            event: Event = self.instance
            if event.pk is None:
                event.save()
            else:
                change_events([event], fields=(*self.Meta.fields, "place"), by=self.by)
            return event

    def _place(self, cleaned: dict[str, Any]) -> Place | None:
        if self.new_place.begun:
            if self.new_place.is_valid():
                return self.new_place.save(commit=False)
            self.add_error("q", _("The place that you typed in below is not complete yet."))
            return None
        typed: str = cleaned.get("q", "")
        if not typed:
            self.add_error("q", _("Say where the event is."))
            return None
        place = None
        if cleaned.get("place_choice") and cleaned.get("chosen_for") == typed:
            place = self.places.chosen(cleaned["place_choice"])
        place = place or self.places.meant(typed)
        self.choices = self.places.choices(typed)
        if place is not None and place.pk:
            self.chosen = f"place:{place.pk}"
        elif place is not None:
            self.chosen = cleaned.get("place_choice", "")
        elif self.choices:
            self.add_error(
                "q",
                _("“%(text)s” may be one of several places. Choose one below.") % {"text": typed},
            )
        else:
            self.add_error(
                "q",
                _(
                    "No place “%(text)s” is known. Check the spelling, try the nearest airport, or "
                    "type the place in below."
                )
                % {"text": typed},
            )
        return place


class FileForm(forms.Form):
    """A file of events to look at before it is imported."""

    file = forms.FileField(
        label=gettext_lazy("CSV, XLSX or iCalendar file"),
        help_text=gettext_lazy(
            "At most 2 MB and 2,000 events. Nothing is changed until you confirm."
        ),
        allow_empty_file=True,
        widget=forms.ClearableFileInput({"accept": ".csv,.tsv,.txt,.xlsx,.ics"}),
        error_messages={"required": gettext_lazy("Choose the file of your calendar first.")},
    )

    def clean_file(self) -> UploadedFile:
        file: UploadedFile = self.cleaned_data["file"]
        if file.size is not None and file.size > LARGEST_FILE_BYTES:
            raise forms.ValidationError(
                _(
                    "The file is %(size)s MB; at most 2 MB can be imported. Split it into several "
                    "files."
                )
                % {"size": number(file.size / 1024 / 1024, 1)}
            )
        return file


class ColumnsForm(forms.Form):
    """Which column of a file holds what, and how its dates are to be read."""

    def __init__(self, data: Any = None, *, batch: EventImport, plan: Preview) -> None:
        super().__init__(data)
        table = plan.table
        columns = [("", _("no column"))]
        for column in range(len(table.header)):
            example = table.example(column)
            label = _("%(column)s (such as %(example)s)") if example else _("%(column)s (empty)")
            said = {"column": table.column_name(column), "example": example[:24]}
            columns.append((str(column), label % said))
        for field in FIELDS:
            self.fields[field.name] = forms.ChoiceField(
                label=field.label,
                choices=columns,
                required=False,
                initial=str(plan.mapping.get(field.name, "")),
            )
        self.fields["usual_surface"] = forms.ChoiceField(
            label=_("Where the file says no surface"),
            choices=[
                ("", _("that is a problem")),
                (Surface.HARD, _("it is hard")),
                (Surface.CLAY, _("it is clay")),
                (Surface.GRASS, _("it is grass")),
                (Surface.CARPET, _("it is carpet")),
            ],
            required=False,
            initial=batch.usual_surface,
        )
        self.ask_order = bool(plan.dates.question or plan.dates.against or batch.date_order)
        if self.ask_order:
            self.fields["date_order"] = forms.ChoiceField(
                label=_("Dates written in digits"),
                choices=[("dmy", _("have the day first")), ("mdy", _("have the month first"))],
                widget=forms.RadioSelect,
                initial=batch.date_order or plan.dates.order,
                error_messages={"required": _("Say whether the day or the month comes first.")},
            )
        question = plan.dates.question
        if question:
            order = self.fields["date_order"]
            assert isinstance(order, forms.ChoiceField)
            order.label = _("What does “%(text)s” mean?") % {"text": question.example}
            order.choices = [
                ("dmy", _("%(date)s: the day comes first") % {"date": _long(question.day_first)}),
                (
                    "mdy",
                    _("%(date)s: the month comes first") % {"date": _long(question.month_first)},
                ),
            ]

    def columns(self) -> list[forms.BoundField]:
        """The columns, and what stands in for one that is not there."""
        return [*(self[field.name] for field in FIELDS), self["usual_surface"]]

    def mapping(self) -> dict[str, int]:
        """Field name to column from 0, of the valid form."""
        chosen = {field.name: self.cleaned_data.get(field.name) for field in FIELDS}
        return {name: int(column) for name, column in chosen.items() if column}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        taken: dict[int, str] = {}
        for name, column in self.mapping().items():
            if column in taken:
                label = self.fields[taken[column]].label
                self.add_error(
                    name,
                    _("This column holds “%(label)s” already. Choose another.") % {"label": label},
                )
            taken.setdefault(column, name)
        usual_surface = cleaned.get("usual_surface", "")
        for sentence in missing_columns(self.mapping(), surface=usual_surface):
            self.add_error(None, sentence)
        return cleaned


def event_form(event: Event, data: Any = None, *, by: Person | None = None) -> EventForm:
    """The form of an event that is new or to be changed, with the form for a new place in it.

    `by` is who changes it.
    """
    new_place = PlaceForm(
        data,
        instance=Place(academy=event.academy),
        prefix="new",
        empty_permitted=True,
        use_required_attribute=False,
    )
    places = Places(event.academy)
    return EventForm(data, instance=event, places=places, new_place=new_place, by=by)


def _ask_kindly(form: forms.BaseForm) -> None:
    for field in form.fields.values():
        field.error_messages["required"] = _("Fill this in.")


def _long(value: date) -> str:
    return pgettext("day, month and year", "%(day)d %(month)s %(year)d") % {
        "day": value.day,
        "month": month(value),
        "year": value.year,
    }
