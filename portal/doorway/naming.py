"""What a browser calls itself, in words that its owner knows. Knows no Django but its words."""

from __future__ import annotations

from django.utils.translation import gettext as _

# The first that fits: many call themselves by the names of others as well.
BROWSERS = {
    "Edg": "Edge",
    "OPR/": "Opera",
    "SamsungBrowser": "Samsung Internet",
    "Firefox": "Firefox",
    "FxiOS": "Firefox",
    "CriOS": "Chrome",
    "Chrome": "Chrome",
    "Safari": "Safari",
}
MACHINES = {
    "iPhone": "iPhone",
    "iPad": "iPad",
    "Android": "Android",
    "Windows": "Windows",
    "CrOS": "ChromeOS",
    "Macintosh": "Mac",
    "Linux": "Linux",
}


def browser_of(user_agent: str) -> str:
    browser = next((name for sign, name in BROWSERS.items() if sign in user_agent), "")
    machine = next((name for sign, name in MACHINES.items() if sign in user_agent), "")
    if browser and machine:
        return _("%(browser)s on %(machine)s") % {"browser": browser, "machine": machine}
    return browser or machine or _("A browser that does not say its name")
