"""What people fill in, by page."""

from fabjobs.forms.new_job import NewJobForm
from fabjobs.forms.set_up import SetUpForm
from fabjobs.forms.sign_in import SignInForm

__all__ = ["NewJobForm", "SetUpForm", "SignInForm"]
