from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.utils.decorators import method_decorator

from fabjobs.forms import SignInForm
from fabjobs.models import Person

BACKEND = "django.contrib.auth.backends.ModelBackend"  # of those whom a page signs in without asking for a password


@method_decorator(login_not_required, name="dispatch")
class SignIn(LoginView):
    """Sign in; in a shop that nobody has claimed yet, set it up first."""

    template_name = "sign_in/page.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True
    http_method_names = ["get", "head", "post"]

    def dispatch(self, request: HttpRequest, *args: object, **kwargs: object) -> HttpResponseBase:
        if not Person.objects.exists():
            return redirect("set_up")
        return super().dispatch(request, *args, **kwargs)

    def form_invalid(self, form: SignInForm) -> HttpResponse:  # type: ignore[override]
        return self.render_to_response(self.get_context_data(form=form), status=422)
