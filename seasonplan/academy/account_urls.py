"""The addresses for signing in, one by one.

Of allauth's own list those are left out that this application has no use for: signing up, several
email addresses a person, codes by mail. `account_signup` stays as a page that says how one joins,
because allauth's mail to an unknown address links to it.
"""

from allauth.account import views as allauth
from allauth.mfa.base import views as mfa
from allauth.mfa.recovery_codes import views as recovery_codes
from allauth.mfa.totp import views as totp
from allauth.usersessions import views as usersessions
from django.urls import path, re_path

from seasonplan.academy import accounts, forms

urlpatterns = [
    path(
        "login/",
        accounts.truthful(allauth.LoginView.as_view(form_class=forms.SignInForm)),
        name="account_login",
    ),
    path("logout/", allauth.logout, name="account_logout"),
    path("inactive/", allauth.account_inactive, name="account_inactive"),
    path("signup/", accounts.by_invitation, name="account_signup"),
    path(
        "password/change/",
        accounts.truthful(allauth.PasswordChangeView.as_view(form_class=forms.ChangePasswordForm)),
        name="account_change_password",
    ),
    path(
        "password/reset/",
        accounts.truthful(allauth.PasswordResetView.as_view(form_class=forms.ForgotPasswordForm)),
        name="account_reset_password",
    ),
    path("password/reset/done/", allauth.password_reset_done, name="account_reset_password_done"),
    re_path(
        r"^password/reset/key/(?P<uidb36>[0-9A-Za-z]+)-(?P<key>.+)/$",
        accounts.truthful(
            allauth.PasswordResetFromKeyView.as_view(form_class=forms.NewPasswordForm)
        ),
        name="account_reset_password_from_key",
    ),
    path(
        "password/reset/key/done/",
        allauth.password_reset_from_key_done,
        name="account_reset_password_from_key_done",
    ),
    path(
        "again/",
        accounts.renewing(
            accounts.truthful(
                allauth.ReauthenticateView.as_view(form_class=forms.PasswordAgainForm)
            )
        ),
        name="account_reauthenticate",
    ),
    path("signed-in/", usersessions.list_usersessions, name="usersessions_list"),
    path("second-step/", mfa.index, name="mfa_index"),
    path("second-step/code/", accounts.truthful(mfa.authenticate), name="mfa_authenticate"),
    path(
        "second-step/again/",
        accounts.renewing(accounts.truthful(mfa.reauthenticate)),
        name="mfa_reauthenticate",
    ),
    path("second-step/on/", accounts.truthful(totp.activate_totp), name="mfa_activate_totp"),
    path("second-step/off/", accounts.truthful(totp.deactivate_totp), name="mfa_deactivate_totp"),
    path(
        "second-step/spare-codes/",
        recovery_codes.view_recovery_codes,
        name="mfa_view_recovery_codes",
    ),
    path(
        "second-step/spare-codes/new/",
        accounts.truthful(recovery_codes.generate_recovery_codes),
        name="mfa_generate_recovery_codes",
    ),
    path(
        "second-step/spare-codes/file/",
        recovery_codes.download_recovery_codes,
        name="mfa_download_recovery_codes",
    ),
]
