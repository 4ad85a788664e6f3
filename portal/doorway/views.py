"""The way in and the way out."""

from __future__ import annotations

from django.conf import settings
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from portal.doorway import entering, picking
from portal.doorway.forms import PickForm, SignInForm
from portal.kit.declaring import open_to_all
from portal.people.http import Visit, page


@open_to_all
@require_http_methods(["GET", "HEAD", "POST"])
@sensitive_post_parameters("password")
def sign_in(request: Visit) -> HttpResponse:
    onward = entering.onward(request.POST.get("next", request.GET.get("next", "")))
    form = SignInForm(request.POST if request.method == "POST" else None)
    status = 200
    if form.is_valid():
        try:
            entering.enter(request, **form.cleaned_data, at=request.now)
        except entering.Refused as error:
            form.add_error(None, str(error))
            status = 429 if isinstance(error, entering.TooManyTries) else 200
    if request.user.is_authenticated:
        return redirect(onward or settings.LOGIN_REDIRECT_URL)
    return page(
        request,
        "doorway/sign_in.html",
        {"form": form, "onward": onward, "has_demo": picking.is_open(request)},
        status=status,
    )


@open_to_all
@require_POST
def sign_out(request: Visit) -> HttpResponse:
    """What this browser kept of the notes goes with the session."""
    entering.leave(request, at=request.now)
    response = redirect(settings.LOGOUT_REDIRECT_URL)
    response.headers["Clear-Site-Data"] = '"cache", "storage"'
    return response


@open_to_all
@require_http_methods(["GET", "HEAD", "POST"])
def demo(request: Visit) -> HttpResponse:
    if not picking.is_open(request):
        raise Http404
    if request.method == "POST":
        form = PickForm(request.POST)
        if not form.is_valid():
            raise Http404
        user = get_object_or_404(picking.players(), code=form.cleaned_data["code"])
        entering.welcome(request, user, at=request.now)
        return redirect(settings.LOGIN_REDIRECT_URL)
    parts = picking.demo_people(on=request.now.date())
    return page(request, "doorway/demo.html", {"parts": parts})
