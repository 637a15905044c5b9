"""What the scripts of a page say, in the language of the page: `/words/fr.js`.

English needs none of it: a script says its own words where nothing translates them.
"""

from __future__ import annotations

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponseBase
from django.utils import translation
from django.views.decorators.http import require_safe
from django.views.i18n import JavaScriptCatalog

_catalog = JavaScriptCatalog.as_view()
TRANSLATED = frozenset(code for code, _ in settings.LANGUAGES if code != settings.LANGUAGE_CODE)


@login_not_required
@require_safe
def words(request: HttpRequest, language: str) -> HttpResponseBase:
    """A script that gives `gettext` and `ngettext` to the scripts after it; 404 for a language
    that needs none. A version in the address lets browsers keep it."""
    if language not in TRANSLATED:
        raise Http404
    with translation.override(language):
        answer: HttpResponseBase = _catalog(request)
    lasting = "public, max-age=31536000, immutable"
    answer.headers["Cache-Control"] = lasting if "v" in request.GET else "no-cache"
    return answer
