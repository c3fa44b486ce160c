from django.contrib.auth.views import LogoutView
from django.urls import path

from fabjobs.views import in_hand, job, jobs, new_job, set_up, sign_in

urlpatterns = [
    path("", in_hand.show_in_hand, name="in_hand"),
    path("set-up", set_up.claim_shop, name="set_up"),
    path("sign-in", sign_in.SignIn.as_view(), name="sign_in"),
    path("sign-out", LogoutView.as_view(), name="sign_out"),
    path("jobs/", jobs.list_jobs, name="jobs"),
    path("jobs/new", new_job.create_job, name="new_job"),
    path("jobs/new/preview", new_job.preview_job, name="preview_job"),
    path("jobs/new/corners", new_job.change_corners, name="change_corners"),
    path("jobs/<int:number>/", job.show_job, name="job"),
    path("jobs/<int:number>/traveller.pdf", job.print_traveller, {"money": True}, name="traveller"),
    path("jobs/<int:number>/traveller-shop.pdf", job.print_traveller, {"money": False}, name="traveller_shop"),
]
handler400 = "fabjobs.views.refusals.bad_request"
