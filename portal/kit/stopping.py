"""What somebody is told who gets no further, with the number that finds it in the log.

A page for a browser that goes somewhere, a few words for a script that asked. Words for people
stand in the templates; here only what the short answers say.
"""

from __future__ import annotations

from collections.abc import Callable
from http import HTTPStatus

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed, JsonResponse
from django.http.response import HttpResponseBase
from django.template.loader import render_to_string
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

SHORT = {
    400: gettext_lazy("That did not arrive whole. Load the page again and repeat the last step."),
    403: gettext_lazy("Doing this is somebody else’s part. Nothing was changed."),
    404: gettext_lazy("There is nothing here, or it is not for you to see."),
    405: gettext_lazy(
        "This address cannot be asked like that. Go back and use the page’s buttons."
    ),
    413: gettext_lazy("That is more than this page takes. Nothing was changed."),
    429: gettext_lazy("That was a lot in a short time. Wait a little, then go on."),
    500: gettext_lazy("Something broke on our side. Wait a minute and try again."),
}


def stop(request: HttpRequest, status: int, *, said: str = "", template: str = "") -> HttpResponse:
    """`said` is what the page adds in the words of whoever refused; another `template` than the
    one that bears the status.

    The page of a fault of ours is made without asking who reads it: that may be what broke.
    """
    number = getattr(request, "number", "")
    if wants_few_words(request):
        problem = said or str(SHORT[status])
        return JsonResponse({"problem": problem, "request": number}, status=status)
    page = render_to_string(
        template or f"{status}.html",
        {"number": number, "said": said},
        request=None if status == HTTPStatus.INTERNAL_SERVER_ERROR else request,
    )
    return HttpResponse(page, status=status)


def wants_few_words(request: HttpRequest) -> bool:
    """Browsers say what they want an answer for; older ones ask for HTML by name where a page
    is to be shown."""
    aim = request.headers.get("Sec-Fetch-Dest", "")
    if aim:
        return aim == "empty"
    is_script = "HX-Request" in request.headers or "X-Requested-With" in request.headers
    asked = request.headers.get("Accept", "")
    return is_script or ("json" in asked and "html" not in asked)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    return stop(request, 413 if isinstance(exception, RequestDataTooBig) else 400)


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    return stop(request, 403, said=str(exception))


def forged(request: HttpRequest, reason: str = "") -> HttpResponse:  # noqa: ARG001 - not for people
    """A form without this browser's token."""
    said = _("This page was open too long. Load it again, then repeat the last step.")
    few_words = said if wants_few_words(request) else ""
    return stop(request, 403, said=few_words, template="403_csrf.html")


def missing(request: HttpRequest, exception: Exception) -> HttpResponse:  # noqa: ARG001 - one answer
    return stop(request, 404)


def broken(request: HttpRequest) -> HttpResponse:
    return stop(request, 500)


class StoppedMiddleware:
    """Puts a page where the framework answers a wrong method with nothing."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        if not isinstance(response, HttpResponseNotAllowed):
            return response
        page = stop(request, 405)
        page.headers["Allow"] = response.headers["Allow"]
        return page
