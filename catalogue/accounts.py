"""How the library for accounts is fitted to this site: who has to verify an address, and what its forms say."""

from typing import Any

from allauth.account import forms as library
from allauth.account.adapter import DefaultAccountAdapter
from allauth.account.stages import EmailVerificationStage
from django import forms
from django.http import HttpRequest
from django.urls import reverse

from catalogue.usecases.people import awaits_verification

LIBRARY_STAGE = "allauth.account.stages.EmailVerificationStage"


class AddressStage(EmailVerificationStage):
    """Signing in stops here until the address is verified, if the account has any."""

    def handle(self) -> tuple[Any, bool]:
        user = self.login.user
        if user is not None and not self.login.signup and not awaits_verification(user):
            return None, True
        return super().handle()  # type: ignore[no-any-return]


class Adapter(DefaultAccountAdapter):
    error_messages = DefaultAccountAdapter.error_messages | {
        "username_password_mismatch": "This name and password do not fit. Both know capitals from small letters.",
        "email_password_mismatch": "This address and password do not fit. Passwords know capitals from small letters.",
        "incorrect_code": "This is not the code of the newest mail. Type it as it stands there.",
        "incorrect_password": "This is not your password. Type it again.",
        "enter_current_password": "This is not your password. Type it again.",
        "username_taken": "Somebody has this name already. Choose another.",
        "too_many_login_attempts": "Too many tries. Wait five minutes, then try again; nothing is lost.",
        "rate_limited": "A mail was sent only just now. Wait some seconds, then try again.",
    }

    def get_login_stages(self) -> list[str]:
        own = f"{AddressStage.__module__}.{AddressStage.__name__}"
        return [own if stage == LIBRARY_STAGE else stage for stage in super().get_login_stages()]

    def get_password_change_redirect_url(self, request: HttpRequest) -> str:
        return reverse("account")


class Plain:
    """A form whose fields say what they want above them, and nothing inside them that goes when one types."""

    labels: dict[str, str] = {}
    hints: dict[str, str] = {}
    fields: dict[str, forms.Field]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            field.widget.attrs.pop("placeholder", None)
            field.label = self.labels.get(name, field.label)
            field.help_text = self.hints.get(name, "")


NEW_PASSWORD = "At least 10 characters. A few words in a row are easy to keep and hard to guess."
NEW_PASSWORDS = {"password1": "New password", "password2": "The same once more"}
CODE = {"code": "Code from the mail"}
ADDRESS = {"email": "E-mail address"}


class SignInForm(Plain, library.LoginForm):
    labels = {"login": "Name or e-mail address"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["login"].widget.attrs |= {"autocomplete": "username", "autocapitalize": "none"}


class SignUpForm(Plain, library.SignupForm):
    labels = {"username": "Name", **ADDRESS}
    hints = {
        "username": "Everybody sees it with the maps that you submit. Letters, digits and . @ + - _ only.",
        "email": "Nobody sees it. It gets a code now, and mail about your account and what you contribute.",
        "password1": NEW_PASSWORD,
    }


class ChangePasswordForm(Plain, library.ChangePasswordForm):
    labels = {"oldpassword": "Password that you have now", **NEW_PASSWORDS}
    hints = {"password1": NEW_PASSWORD}


class ResetPasswordForm(Plain, library.ResetPasswordForm):
    labels = ADDRESS


class NewPasswordForm(Plain, library.ResetPasswordKeyForm):
    labels = NEW_PASSWORDS
    hints = {"password1": NEW_PASSWORD}


class PasswordAgainForm(Plain, library.ReauthenticateForm):
    pass


class NewAddressForm(Plain, library.AddEmailForm):
    labels = {"email": "New e-mail address"}


class OtherAddressForm(Plain, library.ChangeEmailForm):
    labels = ADDRESS


class AddressCodeForm(Plain, library.ConfirmEmailVerificationCodeForm):
    labels = CODE


class PasswordCodeForm(Plain, library.ConfirmPasswordResetCodeForm):
    labels = CODE
