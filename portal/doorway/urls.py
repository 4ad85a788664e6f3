"""The door. The names without a space before them are those by which allauth finds its pages."""

from __future__ import annotations

from django.urls import include, path

from portal.doorway import views

doorway = [
    path("sign-in/", views.sign_in, name="sign_in"),
    path("sign-in/password/", views.password_in, name="password_in"),
    path("sign-in/again/", views.again, name="again"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("you/", views.you, name="you"),
    path("you/offer/", views.offer, name="offer"),
    path("you/password/", views.password, name="password"),
    path("you/address/", views.address, name="address"),
    path("you/address/code/", views.address_code, name="address_code"),
    path("you/sessions/<int:number>/end/", views.end_session, name="end_session"),
    path("demo/", views.demo, name="demo"),
]

urlpatterns = [
    path("", include((doorway, "doorway"))),
    path("sign-in/", views.sign_in, name="account_login"),
    path("sign-in/", views.sign_in, name="account_request_login_code"),
    path("sign-in/", views.sign_in, name="account_signup"),
    path("sign-in/code/", views.type_code, name="account_confirm_login_code"),
    path("sign-in/second/", views.second, name="mfa_authenticate"),
    path("sign-in/passkey/", views.passkey_in, name="mfa_login_webauthn"),
    path("you/", views.you, name="mfa_index"),
    path("you/", views.you, name="mfa_list_webauthn"),
    path("you/passkeys/add/", views.add_passkey, name="mfa_add_webauthn"),
    path("you/passkeys/<int:pk>/remove/", views.remove_passkey, name="mfa_remove_webauthn"),
    path("you/app/", views.add_app, name="mfa_activate_totp"),
    path("you/app/remove/", views.remove_app, name="mfa_deactivate_totp"),
    path("you/recovery-codes/", views.recovery_codes, name="mfa_view_recovery_codes"),
    path("you/recovery-codes/new/", views.new_codes, name="mfa_generate_recovery_codes"),
]
