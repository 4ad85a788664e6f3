"""The way in for the invited, and a child's own way in: pages of the families.

An address is asked for, then the code that was mailed to it together with the year in which the
swimmer was born. One sentence answers whatever is wrong, so that nobody learns from this page whom
a club has invited. Whoever is signed in already is asked for the year alone.
"""

from __future__ import annotations

from typing import Any
from uuid import UUID

from allauth.account.internal.stagekit import clear_login
from allauth.account.views import RequestLoginCodeView
from allauth.core.internal.cryptokit import compare_user_code
from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from portal.doorway import steps
from portal.kit.declaring import asks, open_to_all
from portal.kit.limiting import HOUR, at_most
from portal.people import consenting
from portal.people.ages import OWN_SIGN_IN
from portal.people.http import Request, Visit, page
from portal.people.models import Consent, Swimmer, User
from portal.roster import accepting, access, inviting
from portal.roster.forms import AddressForm, WelcomeForm, YearForm
from portal.roster.models import Invitation

READ_OR_SEND = ["GET", "HEAD", "POST"]
DOES_NOT_FIT = gettext_lazy(
    "That does not fit together. Look at both again. After three wrong tries, ask your club to"
    " check the address that it has for you."
)


class AskForCode(RequestLoginCodeView):
    template_name = "roster/welcome.html"

    def get_success_url(self) -> str:
        return reverse("roster:type_code")


class TypeCode(steps.TypeCode):
    asked_at = "roster:welcome"
    typed_at = "roster:type_code"
    template_name = "roster/type_code.html"

    def get_form_class(self) -> type[Any]:
        return super().get_form_class() if self._action == "resend" else WelcomeForm

    def form_valid(self, form: Any) -> HttpResponseBase:  # noqa: ANN401 - one of two forms
        if self._action == "resend":
            return self._resend_form_valid(form)
        if children := self._came_in(form.cleaned_data):
            return self._process.finish(first_page(self._process.user, children))
        form.add_error(None, DOES_NOT_FIT)
        if self._process.record_invalid_attempt():
            return self.render_to_response(self.get_context_data(form=form))
        messages.error(self.request, str(DOES_NOT_FIT))
        return redirect("roster:welcome")

    def _came_in(self, given: dict[str, Any]) -> list[Swimmer]:
        """Only a right code makes a wrong year count against the invitation."""
        user, expected = self._process.user, self._process.code
        if user is None or not compare_user_code(actual=given["code"], expected=expected):
            return []
        return accepting.accept(user, year=given["year"], at=self.request.now)

    def form_invalid(self, form: Any) -> HttpResponseBase:  # noqa: ANN401 - one of two forms
        """Something is missing: that is no try."""
        return self.render_to_response(self.get_context_data(form=form))


_ask_for_code = AskForCode.as_view()
_type_code = TypeCode.as_view()


@open_to_all
@require_http_methods(READ_OR_SEND)
def welcome(request: Visit) -> HttpResponseBase:
    """Where the mail leads."""
    if not request.user.is_authenticated:
        clear_login(request)
        return _ask_for_code(request)
    form = YearForm(request.POST if request.method == "POST" else None)
    user = request.user
    if form.is_valid():
        year = form.cleaned_data["year"]
        if children := accepting.accept(user, year=year, at=request.now):
            return redirect(first_page(user, children))
        form.add_error(None, str(DOES_NOT_FIT))
    return page(request, "roster/year.html", {"form": form})


@open_to_all
@require_http_methods(READ_OR_SEND)
def type_code(request: Visit) -> HttpResponseBase:
    """Nobody has asked for a code in this browser: back to the address."""
    if request.user.is_authenticated:
        return redirect("roster:welcome")
    return _type_code(request)


def first_page(user: User, children: list[Swimmer]) -> str:
    """A guardian first answers for the child; a swimmer reads."""
    child = children[0]
    if Swimmer.objects.filter(pk=child.pk, user=user).exists():
        return reverse("notes:home")
    return reverse("people:questions", args=[child.code])


@require_http_methods(READ_OR_SEND)
@at_most(20, within=HOUR, of="own sign-ins")
@asks(access.child_for)
def own_sign_in(request: Request, code: UUID) -> HttpResponse:
    """A guardian lets a child of 13 or older in, at an address that the club's people never see."""
    child = access.child_for(request.actor, code)
    form = AddressForm(request.POST if "agree" in request.POST else None)
    if request.method == "POST" and (said := _answer(request, child, form)):
        messages.success(request, said)
        return redirect("roster:own_sign_in", child.code)
    today = child.club.day(request.now)
    context = {
        "child": child,
        "form": form,
        "is_old_enough": child.age(today) >= OWN_SIGN_IN,
        "own_tie": child.guardianships.on(today).filter(guardian=request.user).first(),
        "invited": Invitation.objects.open(request.now).filter(swimmer=child).exists(),
    }
    return page(request, "roster/own_sign_in.html", context)


def _answer(request: Request, child: Swimmer, form: AddressForm) -> str:
    """What is said to the guardian; the same whatever another guardian has answered."""
    purpose, by = Consent.Purpose.SIGN_IN, request.user
    words = {"name": child.first_name}
    try:
        if "stop" in request.POST:
            consenting.answer(child, purpose, is_given=False, by=by, at=request.now)
            return _("%(name)s cannot sign in any more, from now on.") % words
        inviting.check_age(child, at=request.now)
        if not form.is_valid():
            return ""
        with transaction.atomic():
            consenting.answer(child, purpose, is_given=True, by=by, at=request.now)
            inviting.invite_swimmer(
                child, address=form.cleaned_data["address"], by=by, at=request.now, copy_to=by
            )
    except (inviting.NotInvited, consenting.NotTaken) as error:
        form.add_error(None, str(error))
        return ""
    return (
        _("Noted. If nothing stands against it, %(name)s gets a mail by day, and you a copy of it.")
        % words
    )
