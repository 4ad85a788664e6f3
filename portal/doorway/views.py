"""The way in and the way out, and what belongs to somebody's account.

The steps themselves are allauth's; here stands who may take them and how often.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps

from allauth.account.internal.flows.login import perform_password_login
from allauth.account.internal.stagekit import clear_login, get_pending_stage
from allauth.account.models import Login
from allauth.account.views import request_login_code
from allauth.mfa.models import Authenticator
from allauth.mfa.recovery_codes.views import generate_recovery_codes, view_recovery_codes
from allauth.usersessions.models import UserSession
from django.conf import settings
from django.contrib import messages
from django.contrib.auth import authenticate, update_session_auth_hash
from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.doorway import (
    entering,
    listing,
    mailing,
    offering,
    picking,
    readdressing,
    steps,
    strengthening,
)
from portal.doorway.forms import (
    TOO_MANY,
    AddressCodeForm,
    AddressForm,
    PasswordForm,
    PickForm,
    SignInForm,
)
from portal.doorway.leading import towards, wanted
from portal.kit import stopping
from portal.kit.declaring import open_to_all, signed_in
from portal.kit.limiting import HOUR, at_most
from portal.people.http import Request, Visit, page
from portal.people.models import User
from portal.people.recent import must_be_recent

READ_OR_SEND = ["GET", "HEAD", "POST"]
View = Callable[..., HttpResponseBase]


def at_the_door(view: View) -> View:
    """For strangers, and only so many tries from one place."""

    @wraps(view)
    def answer(request: Visit) -> HttpResponseBase:
        if request.method == "POST" and not entering.may_try_from_here(request):
            return stopping.stop(request, 429, said=str(TOO_MANY))
        return view(request)

    return open_to_all(require_http_methods(READ_OR_SEND)(answer))


def of_the_account(view: View) -> View:
    """For whoever has just signed in, with all that their account asks for, about their own ways
    to do so."""

    @wraps(view)
    def answer(request: Request, /, *args: object, **values: object) -> HttpResponseBase:
        is_asked = strengthening.is_asked(request.user, at=request.now)
        if is_asked and not strengthening.has_shown(request):
            return redirect(strengthening.again(request))
        must_be_recent(request)
        return view(request, *args, **values)

    return signed_in(require_http_methods(READ_OR_SEND)(answer))


@open_to_all
@require_http_methods(READ_OR_SEND)
def sign_in(request: Visit) -> HttpResponseBase:
    """An address, to which a code is sent; a passkey; or a person of the demo club."""
    onward = wanted(request)
    if request.user.is_authenticated:
        return redirect(onward or settings.LOGIN_REDIRECT_URL)
    if request.method == "POST" or "anew" in request.GET:
        clear_login(request)
    elif stage := get_pending_stage(request):
        # Somebody comes back from their mail, perhaps by the address they always type.
        entering.look_up(stage.login.user)
        return redirect(towards(stage.urlname, onward=onward))
    elif picking.is_open(request) and not request.GET.get("really"):
        return page(request, "doorway/step_in.html", {"onward": onward})
    return request_login_code(request)


type_code = at_the_door(steps.TypeCode.as_view())
second = at_the_door(steps.SecondStep.as_view())
passkey_in = at_the_door(steps.PasskeyIn.as_view())
add_passkey = of_the_account(steps.AddPasskey.as_view())
remove_passkey = of_the_account(steps.RemovePasskey.as_view())
add_app = of_the_account(steps.AddApp.as_view())
remove_app = of_the_account(steps.RemoveApp.as_view())
recovery_codes = of_the_account(view_recovery_codes)
new_codes = of_the_account(generate_recovery_codes)


@open_to_all
@require_http_methods(READ_OR_SEND)
@sensitive_post_parameters("password")
def password_in(request: Visit) -> HttpResponseBase:
    """For those who have set a password; staff are asked for their second factor after it."""
    if request.user.is_authenticated:
        return redirect(settings.LOGIN_REDIRECT_URL)
    form = SignInForm(request.POST if request.method == "POST" else None)
    status, onward = 200, wanted(request)
    if form.is_valid():
        given = form.cleaned_data
        if not entering.may_try(request, given["email"]):
            form.add_error(None, TOO_MANY)
            status = 429
        elif user := authenticate(request, email=given["email"], password=given["password"]):
            login = Login(user=user, email=given["email"], redirect_url=onward or None)
            return perform_password_login(request, {"email": given["email"]}, login)
        else:
            named = User.objects.filter(email=given["email"].lower()).first()
            entering.refuse(named, at=request.now, way="password")
            form.add_error(
                None,
                _(
                    "This address and this password do not belong together. Try again, or let"
                    " us send you a code. Nothing was changed."
                ),
            )
    context = {"form": form, "onward": onward}
    return page(request, "doorway/password_in.html", context, status=status)


@signed_in
@require_http_methods(READ_OR_SEND)
def again(request: Request) -> HttpResponse:
    """What was asked for needs a sign-in of the last minutes: out, in, and back to it."""
    onward = wanted(request)
    if request.method == "POST":
        entering.leave(request, at=request.now)
        return redirect(towards("doorway:sign_in", onward=onward))
    return page(request, "doorway/again.html", {"onward": onward})


@open_to_all
@require_POST
def sign_out(request: Visit) -> HttpResponse:
    """What this browser kept of the notes goes with the session."""
    entering.leave(request, at=request.now)
    response = redirect(settings.LOGOUT_REDIRECT_URL)
    response.headers["Clear-Site-Data"] = '"cache", "storage"'
    return response


@signed_in
@require_safe
def you(request: Request) -> HttpResponse:
    """Somebody's own account: how they sign in, and where they are signed in."""
    factors = list(Authenticator.objects.filter(user=request.user).order_by("created_at"))
    this = request.session.session_key
    context = {
        "has_role": request.actor.has_role,
        "passkeys": [one.wrap() for one in factors if one.type == Authenticator.Type.WEBAUTHN],
        "app": next((one for one in factors if one.type == Authenticator.Type.TOTP), None),
        "sessions": listing.open_sessions(request.user, this=this, at=request.now),
    }
    return page(request, "doorway/you.html", context)


@signed_in
@require_http_methods(READ_OR_SEND)
def offer(request: Request) -> HttpResponse:
    """Of a passkey, after a code was typed."""
    onward = wanted(request) or "/"
    if request.method == "POST":
        response = redirect(onward)
        offering.put_off(response)
        return response
    return page(request, "doorway/offer.html", {"onward": onward})


@signed_in
@require_POST
def end_session(request: Request, number: int) -> HttpResponse:
    session = get_object_or_404(UserSession, user=request.user, pk=number)
    session.end()
    note(Entry.Action.SIGNED_OUT, request.user, at=request.now, by=request.user, way="ended")
    return redirect("doorway:you")


@of_the_account
@sensitive_post_parameters("password")
def password(request: Request) -> HttpResponse:
    """Ends all other sessions, since whoever opened them may have known the old one."""
    form = PasswordForm(request.user, request.POST if request.method == "POST" else None)
    if form.is_valid():
        user: User = request.user
        user.set_password(form.cleaned_data["password"])
        user.save(update_fields=["password"])
        was = request.session.session_key
        update_session_auth_hash(request, user)
        listing.follow(user, was=was, now=request.session.session_key)
        listing.end_others(user, this=request.session.session_key)
        mailing.tell_of_change(user, "password", at=request.now)
        note(Entry.Action.CHANGED, user, at=request.now, by=user, what="password")
        return redirect("doorway:you")
    return page(request, "doorway/password.html", {"form": form})


@of_the_account
@at_most(10, within=HOUR, of="addresses")
def address(request: Request) -> HttpResponse:
    """Another one to sign in with; first a code goes there."""
    form = AddressForm(request.user, request.POST if request.method == "POST" else None)
    if form.is_valid():
        readdressing.ask(request, form.cleaned_data["email"])
        return redirect("doorway:address_code")
    return page(request, "doorway/address.html", {"form": form})


@of_the_account
@at_most(30, within=HOUR, of="address codes")
def address_code(request: Request) -> HttpResponse:
    asked = readdressing.asked_for(request)
    if not asked:
        if request.method == "POST":
            messages.error(request, str(steps.NOTHING_TO_OPEN))
        return redirect("doorway:address")
    form = AddressCodeForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            readdressing.take(request, form.cleaned_data["code"])
        except readdressing.Wrong as wrong:
            form.add_error("code", str(steps.WRONG[wrong.left]))
        except readdressing.Spent:
            messages.error(request, str(steps.NO_TRY_LEFT))
            return redirect("doorway:address")
        except readdressing.Taken:
            messages.error(request, str(steps.NOTHING_TO_OPEN))
            return redirect("doorway:address")
        else:
            return redirect("doorway:you")
    return page(request, "doorway/address_code.html", {"form": form, "address": asked})


@open_to_all
@require_http_methods(READ_OR_SEND)
def demo(request: Visit) -> HttpResponse:
    if not picking.is_open(request):
        raise Http404
    onward = wanted(request)
    if request.method == "POST":
        form = PickForm(request.POST)
        if not form.is_valid():
            raise Http404
        user = get_object_or_404(picking.players(), code=form.cleaned_data["code"])
        entering.welcome(request, user, at=request.now)
        return redirect(onward or settings.LOGIN_REDIRECT_URL)
    parts = picking.demo_people(on=request.now.date())
    return page(request, "doorway/demo.html", {"parts": parts, "onward": onward})
