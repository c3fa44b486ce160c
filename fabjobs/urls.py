from django.contrib.auth.views import LogoutView
from django.urls import path

from fabjobs.views import (
    change,
    downloads,
    improve,
    in_hand,
    job,
    jobs,
    joins,
    metal,
    new_job,
    papers,
    putting_away,
    review,
    set_up,
    settings,
    sign_in,
    steps,
    timer,
)

REVISION = "jobs/<int:number>/revisions/<int:revision_number>"
DOWNLOADS = {
    "templates": "templates.pdf",
    "patterns": "patterns.dxf",
    "takeoff": "takeoff.csv",
    "drawings": "drawings.zip",
    "papers": "papers.zip",
}

urlpatterns = [
    path("", in_hand.show_in_hand, name="in_hand"),
    path("set-up", set_up.claim_shop, name="set_up"),
    path("sign-in", sign_in.SignIn.as_view(), name="sign_in"),
    path("sign-out", LogoutView.as_view(), name="sign_out"),
    path("jobs/", jobs.list_jobs, name="jobs"),
    path("jobs/new", new_job.create_job, name="new_job"),
    path("jobs/new/preview", new_job.preview_job, name="preview_job"),
    path("jobs/new/ask", new_job.ask_otherwise, name="ask_otherwise"),
    path("jobs/<int:number>/", job.show_job, name="job"),
    path("jobs/<int:number>/change", change.change_job, name="change_job"),
    path("jobs/<int:number>/change/preview", change.preview_change, name="preview_change"),
    path("jobs/<int:number>/change/ask", change.ask_change_otherwise, name="ask_change_otherwise"),
    path("jobs/<int:number>/joins/", joins.show_joins, name="joins"),
    path("jobs/<int:number>/joins/take", joins.take_joins, name="take_joins"),
    path("jobs/<int:number>/better-layout/", improve.show_better, name="better"),
    path("jobs/<int:number>/better-layout/ask", improve.ask_better, name="ask_better"),
    path("jobs/<int:number>/better-layout/<int:improvement>/take", improve.take_better, name="take_better"),
    path("jobs/<int:number>/revisions/<int:before>/<int:after>/", change.compare_revisions, name="compare_revisions"),
    path("papers/", papers.check_paper, name="check_paper"),
    path("jobs/<int:number>/traveller.pdf", job.print_traveller, {"money": True}, name="traveller"),
    path("jobs/<int:number>/traveller-shop.pdf", job.print_traveller, {"money": False}, name="traveller_shop"),
    path("jobs/<int:number>/steps/<int:step>/", steps.show_step, name="step"),
    path("jobs/<int:number>/steps/<int:step>/tick", steps.tick_step, name="tick_step"),
    path("jobs/<int:number>/steps/<int:step>/note", steps.add_note, name="add_note"),
    path("jobs/<int:number>/steps/<int:step>/time", steps.enter_time, name="enter_time"),
    path("jobs/<int:number>/steps/<int:step>/time/<int:entry>", steps.correct_time, name="correct_time"),
    path("jobs/<int:number>/steps/<int:step>/timer", timer.start_timer, name="start_timer"),
    path("timer/", timer.show_timer, name="timer"),
    path("timer/<int:entry>/stop", timer.stop_timer, name="stop_timer"),
    path(f"{REVISION}/traveller.pdf", job.print_traveller, {"money": True}, name="old_traveller"),
    path(f"{REVISION}/traveller-shop.pdf", job.print_traveller, {"money": False}, name="old_traveller_shop"),
    path("jobs/<int:number>/metal/", metal.show_metal, name="metal"),
    path("jobs/<int:number>/put-away", putting_away.put_away, name="put_away"),
    path("jobs/<int:number>/metal/<str:kind>/", metal.add_line, name="add_metal"),
    path("jobs/<int:number>/metal/<str:kind>/as-planned", metal.add_as_planned, name="metal_as_planned"),
    path("jobs/<int:number>/metal/<str:kind>/<int:line>/strike", metal.strike_line, name="strike_metal"),
    path("jobs/<int:number>/review/", review.review_job, name="job_review"),
    path("review/", review.review_period, name="review"),
    path("review/jobs.csv", review.download, {"what": "jobs"}, name="review_jobs_csv"),
    path("review/work.csv", review.download, {"what": "work"}, name="review_work_csv"),
    path("settings/", settings.show_settings, name="settings"),
    path("settings/shop", settings.change_shop, name="change_shop"),
    path("settings/rates", settings.change_rates, name="change_rates"),
    path("settings/sheets", settings.add_sheet, name="add_sheet"),
    path("settings/sheets/<int:sheet>", settings.change_sheet, name="change_sheet"),
    path("settings/sheets/<int:sheet>/take-out", settings.take_out_sheet, name="take_out_sheet"),
    *(
        path(f"{where}/{file}", downloads.download_paper, {"kind": kind}, name=f"{prefix}{kind}")
        for where, prefix in (("jobs/<int:number>", ""), (REVISION, "old_"))
        for kind, file in DOWNLOADS.items()
    ),
]
handler400 = "fabjobs.views.refusals.bad_request"
