"""Template tags that know no domain."""

import re

from django import template
from django.forms import BoundField
from django.utils.safestring import SafeString, mark_safe

from seasonplan.web.browsers import browser_name

register = template.Library()
register.filter("browser_name", browser_name)

# `Tue 23`; `4 Apr`, unless it has its weekday, with which it would be too long; `29 Mar –`.
_WITHIN_A_DAY = re.compile(
    r"(?<=\b[A-Z][a-z]{2}) (?=\d)"
    r"|(?<![a-z] \d)(?<![a-z] \d\d)(?<=\d) (?=[A-Z][a-z]{2}\b)"
    r"| (?=–)"
)


@register.filter
def days_whole(text: str) -> str:
    """Keep `Tue 23` and `4 Apr` on one line each, wherever the text around them breaks."""
    return _WITHIN_A_DAY.sub("\N{NO-BREAK SPACE}", text)


@register.inclusion_tag("web/_field.html")
def field(bound: BoundField, hint: str = "") -> dict[str, object]:
    """Label, control, help and errors of one form field, tied together for assistive technology."""
    return {"field": bound, "hint": hint}


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
