"""Every address of the site. The API keeps its own list."""

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import include, path

from catalogue.views import browse, cable, report, rules, submit

urlpatterns = [
    path("api/v1/", include("api.urls")),  # first, because programs ask most
    path("", browse.start, name="start"),
    path("cables/", browse.search, name="search"),
    path("cables/<slug:slug>/", cable.cable, name="cable"),
    path("cables/<slug:slug>/maps/<int:number>/", cable.revision, name="map"),
    path("cables/<slug:slug>/maps/<int:number>/readings.csv", cable.readings, name="map-readings"),
    path("cables/<slug:slug>/report/", report.report, name="report"),
    path("submit/", submit.submit, name="submit"),
    path("drafts/", submit.drafts, name="drafts"),
    path("drafts/<int:draft_id>/", submit.draft, name="draft"),
    path("rules/", rules.rules, name="rules"),
    path("rules/<slug:code>/", rules.rule, name="rule"),
    path("account/sign-in/", LoginView.as_view(template_name="account/sign_in.html"), name="sign-in"),
    path("account/sign-out/", LogoutView.as_view(), name="sign-out"),
]

handler400 = "catalogue.views.errors.bad_request"
handler404 = "catalogue.views.errors.not_found"
