"""Making the sheet of a session: for the coaches on deck, to be taken home again."""

from __future__ import annotations

from datetime import datetime

from django.db.models import QuerySet
from django.template.loader import render_to_string
from django.utils.translation import gettext as _

from portal.kit import storage
from portal.reports import gathering, printing
from portal.reports.models import Sheet

TEMPLATE = "reports/session_sheet.html"
STYLE = "css/sheet.css"


class NothingToPrint(Exception):
    """No review of the session is out; the message is for people."""

    def __init__(self) -> None:
        super().__init__(
            _("No review of this session is out any more, so there is nothing to print.")
        )


def make(sheet: Sheet, *, at: datetime) -> None:
    """Print and keep it, and let go of the session's older sheets.

    A run that finds it made leaves it alone. Two at once write the same file.
    """
    if sheet.file:
        return
    content = gathering.with_terms(gathering.content(sheet.session, at=at))
    if not content.blocks:
        raise NothingToPrint
    html = render_to_string(TEMPLATE, {"content": content, "session": sheet.session})
    name = f"sheets/{sheet.code}.pdf"
    with storage.workroom() as folder:
        stills = {key: storage.fetched(still, into=folder) for key, still in content.stills.items()}
        pdf = printing.to_pdf(html, stills=stills, style=STYLE)
        storage.must_have_room(size=len(pdf))
        draft = folder / "sheet.pdf"
        draft.write_bytes(pdf)
        storage.carry(draft, name)
        storage.keep(draft, name)
    unmade = Sheet.objects.filter(pk=sheet.pk, file="")
    if unmade.update(file=name, made_at=at, made_of=content.fingerprint()):
        _let_go(Sheet.objects.filter(session=sheet.session, pk__lt=sheet.pk))
    elif not Sheet.objects.filter(pk=sheet.pk).exists():
        # A newer sheet was made meanwhile and this one let go.
        storage.remove(name)


def _let_go(older: QuerySet[Sheet]) -> None:
    for sheet in older:
        if sheet.file:
            storage.remove(str(sheet.file))
        sheet.delete()
