"""Signing in and out, passwords and language: Django's own views under Django's own names.

Each carries an access mark like every other view. Sign-in attempts are throttled by django-axes.
"""

from django.contrib.auth import views as auth
from django.urls import path

from parties.access import for_person, open_to_all
from parties.forms.people import NewPasswordForm, ResetForm, SignInForm
from parties.views.account import set_language
from parties.views.passwords import OwnPasswordView

FORM = ("GET", "POST")
FORGOT = "whoever forgot the password cannot sign in; the mail's token is the right to change it"

urlpatterns = [
    path(
        "login/",
        open_to_all("this is where people sign in", methods=FORM)(
            auth.LoginView.as_view(
                template_name="parties/login.html",
                authentication_form=SignInForm,
                redirect_authenticated_user=True,
            )
        ),
        name="login",
    ),
    path(
        "logout/",
        open_to_all("signing out twice does no harm", methods=("POST",))(auth.LogoutView.as_view()),
        name="logout",
    ),
    path(
        "password/",
        for_person(methods=FORM)(OwnPasswordView.as_view()),
        name="password_change",
    ),
    path(
        "password/changed/",
        for_person()(
            auth.PasswordChangeDoneView.as_view(template_name="parties/password_changed.html")
        ),
        name="password_change_done",
    ),
    path(
        "password/forgotten/",
        open_to_all(FORGOT, methods=FORM)(
            auth.PasswordResetView.as_view(
                template_name="parties/password_forgotten.html", form_class=ResetForm
            )
        ),
        name="password_reset",
    ),
    path(
        "password/forgotten/sent/",
        open_to_all(FORGOT)(
            auth.PasswordResetDoneView.as_view(template_name="parties/password_sent.html")
        ),
        name="password_reset_done",
    ),
    path(
        "password/new/<uidb64>/<token>/",
        open_to_all(FORGOT, methods=FORM)(
            auth.PasswordResetConfirmView.as_view(
                template_name="parties/password_new.html", form_class=NewPasswordForm
            )
        ),
        name="password_reset_confirm",
    ),
    path(
        "password/new/done/",
        open_to_all(FORGOT)(
            auth.PasswordResetCompleteView.as_view(template_name="parties/password_set.html")
        ),
        name="password_reset_complete",
    ),
    path("language/", set_language, name="set_language"),
]
