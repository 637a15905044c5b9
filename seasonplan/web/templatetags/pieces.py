"""Template tags that know no domain."""

import re
from datetime import date

from django import template
from django.forms import BoundField
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language, pgettext

from seasonplan.web.browsers import browser_name
from seasonplan.web.script_words import TRANSLATED
from seasonplan.web.worker import version

register = template.Library()
register.filter("browser_name", browser_name)

# `Tue 23`; `4 Apr`, unless it has its weekday, with which it would be too long; `29 Mar –`. Other
# languages write weekdays and months small: theirs are named.
_WITHIN_A_DAY = re.compile(
    r"(?<=\b[A-Z][a-z]{2}) (?=\d)"
    r"|(?<=\b(?:lun|mar|mié|jue|vie|sáb|dom)) (?=\d)"
    r"|(?<=\b(?:lun|mar|mer|jeu|ven|sam|dim)\.) (?=\d)"
    r"|(?<![a-zéá.] \d)(?<![a-zéá.] \d\d)(?<=\d) (?=(?:[A-Z][a-z]{2}"
    r"|ene|feb|mar|abr|may|jun|jul|ago|sept|oct|nov|dic"
    r"|janv|févr|mars|avr|mai|juin|juil|août|déc)\b)"
    r"| (?=–)"
)


@register.filter
def days_whole(text: str) -> str:
    """Keep `Tue 23` and `4 Apr` on one line each, wherever the text around them breaks."""
    return _WITHIN_A_DAY.sub("\N{NO-BREAK SPACE}", text)


@register.filter(expects_localtime=True)
def long_day(day: date | None) -> str:
    """`14 January 2027`, as the language writes it."""
    return date_format(day, pgettext("date format", "j F Y")) if day else ""


@register.inclusion_tag("web/_field.html")
def field(bound: BoundField, hint: str = "") -> dict[str, object]:
    """Label, control, help and errors of one form field, tied together for assistive technology."""
    return {"field": bound, "hint": hint}


@register.simple_tag
def words_script() -> SafeString:
    """The script that translates what the page's scripts say; nothing for English."""
    language = get_language()
    if language not in TRANSLATED:
        return mark_safe("")
    address = f"{reverse('words', args=[language])}?v={version()}"
    return format_html('<script src="{}"></script>', address)


@register.simple_tag(takes_context=True)
def oob(context: template.Context) -> SafeString:
    """Print `hx-swap-oob="true"` when the piece is one of several in an htmx answer."""
    return mark_safe('hx-swap-oob="true"' if context.get("swap_oob") else "")  # noqa: S308


@register.simple_tag(takes_context=True)
def current(context: template.Context, *names: str) -> SafeString:
    """Print `aria-current="page"` when the request's address has one of these names."""
    match = context["request"].resolver_match
    here = match and match.view_name in names
    return mark_safe('aria-current="page"' if here else "")  # noqa: S308
