"""allauth's steps, with what our door adds to each: who may try, what is said, what is noted."""

from __future__ import annotations

from typing import Any, ClassVar

from allauth.account.internal.flows.login_by_code import LoginCodeVerificationProcess
from allauth.account.models import Login
from allauth.account.views import ConfirmLoginCodeView
from allauth.mfa.base.views import AuthenticateView
from allauth.mfa.totp.views import ActivateTOTPView, DeactivateTOTPView
from allauth.mfa.webauthn.internal.flows import perform_passwordless_login
from allauth.mfa.webauthn.views import AddWebAuthnView, LoginWebAuthnView, RemoveWebAuthnView
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext_lazy

from portal.doorway import entering, offering, strengthening
from portal.doorway.forms import TOO_MANY
from portal.doorway.leading import towards, wanted
from portal.kit import stopping
from portal.people.http import Request, Visit

# By how many tries are left.
WRONG = {
    2: gettext_lazy("That is not the code in our newest mail. Two tries left."),
    1: gettext_lazy("That is not the code in our newest mail. One try left."),
}
NO_TRY_LEFT = gettext_lazy(
    "Three tries were wrong, so that code opens nothing any more. Ask for a new one."
)
NOTHING_TO_OPEN = gettext_lazy(
    "That code opens nothing: it is older than 15 minutes, was used, or was asked for in another"
    " browser. Ask for a new one here."
)
SENT_ANEW = gettext_lazy("A new code is on its way. The one before opens nothing any more.")
NOT_TAKEN = gettext_lazy("The passkey was not taken. Try again, or let us send you a code.")


class TypeCode(ConfirmLoginCodeView):
    request: Visit
    _process: Any = None
    asked_at: ClassVar[str] = "doorway:sign_in"
    typed_at: ClassVar[str] = "account_confirm_login_code"

    def dispatch(self, request: HttpRequest, *args: object, **values: object) -> HttpResponseBase:
        """Too late, spent, or another browser's: one answer."""
        answer = super().dispatch(request, *args, **values)
        is_lost = self._process is None and not request.user.is_authenticated
        if is_lost and request.method == "POST":
            messages.error(request, str(NOTHING_TO_OPEN))
        elif self._process is not None:
            entering.look_up(self._process.user)
        return answer

    def _resend_form_valid(self, _form: object) -> HttpResponse:
        """A new code is a new beginning: its own quarter of an hour, its own three tries, and for
        an address that nobody has the same work."""
        email = self._process.state["email"]
        if entering.may_try(self.request, email):
            LoginCodeVerificationProcess.initiate(
                request=self.request, user=self._process.user, email=email
            )
            messages.success(self.request, str(SENT_ANEW))
        else:
            messages.error(self.request, str(TOO_MANY))
        return redirect(self.passthrough_next_url(reverse(self.typed_at)))

    def _verify_form_valid(self, form: Any) -> HttpResponse:  # noqa: ANN401 - allauth's form
        user = self._process.user
        if user.email != self._process.state["email"]:
            # The account has got another address since, and the code went to the old one.
            self._process.abort()
            messages.error(self.request, str(NOTHING_TO_OPEN))
            return redirect(self.passthrough_next_url(reverse(self.asked_at)))
        answer = super()._verify_form_valid(form)
        if self.request.user.is_authenticated and offering.is_due(self.request, user):
            return redirect(towards("doorway:offer", onward=answer.headers["Location"]))
        return answer

    def form_invalid(self, form: Any) -> HttpResponseBase:  # noqa: ANN401 - allauth's form
        if not form.data.get("code"):
            # A button pressed too early is no try.
            return self.render_to_response(self.get_context_data(form=form))
        entering.refuse(self._process.user, at=self.request.now, way="code")
        if not self._process.record_invalid_attempt():
            messages.error(self.request, str(NO_TRY_LEFT))
            return redirect(self.passthrough_next_url(reverse(self.asked_at)))
        left = self._process.max_attempts - self._process.state["failed_attempts"]
        form.errors["code"] = form.error_class([str(WRONG[left])])
        return self.render_to_response(self.get_context_data(form=form))


class SecondStep(AuthenticateView):
    def post(self, request: HttpRequest, *args: object, **values: object) -> HttpResponse:
        if not entering.may_try_second_step(self.stage.login.user):
            return stopping.stop(request, 429, said=str(TOO_MANY))
        return super().post(request, *args, **values)

    def form_invalid(self, form: Any) -> HttpResponse:  # noqa: ANN401 - one of two forms
        entering.refuse(self.stage.login.user, at=self.request.now, way="second step")
        return super().form_invalid(form)


class PasskeyIn(LoginWebAuthnView):
    request: Visit

    def form_valid(self, form: Any) -> HttpResponse:  # noqa: ANN401 - allauth's form
        authenticator = form.cleaned_data["credential"]
        if not authenticator.user.is_active:
            return self.form_invalid(form)
        login = Login(user=authenticator.user, redirect_url=wanted(self.request) or None)
        return perform_passwordless_login(self.request, authenticator, login)

    def form_invalid(self, _form: object) -> HttpResponse:
        """Whose it is said to be is not believed, so nobody is named."""
        entering.refuse(None, at=self.request.now, way="passkey")
        messages.error(self.request, str(NOT_TAKEN))
        return redirect(towards("doorway:sign_in", onward=wanted(self.request)))


class Added:
    """Whoever has set one up in this session has shown it. Recovery codes are for those who will
    be asked for it."""

    request: Request
    did_generate_recovery_codes: bool

    def get_success_url(self) -> str:
        strengthening.show(self.request)
        is_asked = strengthening.is_asked(self.request.user, at=self.request.now)
        if self.did_generate_recovery_codes and is_asked:
            return reverse("mfa_view_recovery_codes")
        return wanted(self.request) or reverse("doorway:you")


class AddPasskey(Added, AddWebAuthnView):
    pass


class AddApp(Added, ActivateTOTPView):
    pass


class RemovePasskey(RemoveWebAuthnView):
    request: Request

    def form_valid(self, form: Any) -> HttpResponse:  # noqa: ANN401 - allauth's form
        answer = super().form_valid(form)
        strengthening.lose(self.request)
        return answer


class RemoveApp(DeactivateTOTPView):
    request: Request

    def form_valid(self, form: Any) -> HttpResponse:  # noqa: ANN401 - allauth's form
        answer = super().form_valid(form)
        strengthening.lose(self.request)
        return answer
