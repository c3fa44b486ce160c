from django.contrib.auth.forms import AuthenticationForm


class SignInForm(AuthenticationForm):
    """Name and password."""

    error_messages = {
        "invalid_login": "That name and password don't belong together. Both mind capitals.",
        "inactive": "This sign-in is closed. The owner can open it again.",
    }
