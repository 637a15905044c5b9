"""The addresses for signing in, one by one.

Of allauth's own list those are left out that this application has no use for: signing up, several
email addresses a person, codes by mail. `account_signup` stays as a page that says how one joins,
because allauth's mail to an unknown address links to it.
"""

from allauth.account import views as allauth
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
]
