"""Answer with a file of tables, which a browser saves rather than shows."""

from __future__ import annotations

from collections.abc import Sequence

from django.http import HttpResponse

from seasonplan.web.sheets import CSV_TYPE, XLSX_TYPE, Sheet, csv_file, workbook_file


def csv_download(sheet: Sheet, name: str) -> HttpResponse:
    return _download(csv_file(sheet), CSV_TYPE, name)


def workbook_download(sheets: Sequence[Sheet], name: str) -> HttpResponse:
    return _download(workbook_file(sheets), XLSX_TYPE, name)


def _download(content: bytes, content_type: str, name: str) -> HttpResponse:
    """`name` is of letters, digits, points and hyphens alone."""
    answer = HttpResponse(content, content_type=content_type)
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
