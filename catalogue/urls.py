"""Every address of the site. The API keeps its own list."""

from allauth.account import views as allauth
from django.urls import include, path

from api.limits import Searches, counted
from catalogue.core.reviewing import Kind
from catalogue.views import (
    account,
    bench,
    browse,
    cable,
    confirm,
    diagnose,
    failing,
    report,
    review,
    revisions,
    rules,
    submit,
    wanted,
    which_cable,
    words,
)
from catalogue.views.atom import NewMaps
from catalogue.views.errors import searched_too_often

searching = counted(Searches, searched_too_often)

# Views of the library, under the names by which it finds them itself.
signing_in = [
    path("sign-up/", allauth.signup, name="account_signup"),
    path("sign-in/", allauth.login, name="account_login"),
    path("sign-out/", allauth.logout, name="account_logout"),
    path("closed/", allauth.account_inactive, name="account_inactive"),
    path("address/", allauth.email, name="account_email"),
    path("address/code/", allauth.email_verification_sent, name="account_email_verification_sent"),
    path("password/", allauth.password_change, name="account_change_password"),
    path("password/first/", allauth.password_set, name="account_set_password"),
    path("password/again/", allauth.reauthenticate, name="account_reauthenticate"),
    path("password/lost/", allauth.password_reset, name="account_reset_password"),
    path("password/lost/code/", allauth.confirm_password_reset_code, name="account_confirm_password_reset_code"),
    path("password/lost/new/", allauth.complete_password_reset, name="account_complete_password_reset"),
    path("password/lost/done/", allauth.password_reset_from_key_done, name="account_password_reset_completed"),
]

urlpatterns = [
    path("api/v1/", include("api.urls")),  # first, because programs ask most
    path("", browse.start, name="start"),
    path("cables/", searching(browse.search), name="search"),
    path("cables/<slug:slug>/", cable.cable, name="cable"),
    path("cables/<slug:slug>/maps/<int:number>/", cable.revision, name="map"),
    path("cables/<slug:slug>/maps/<int:number>/readings.csv", cable.readings, name="map-readings"),
    path("cables/<slug:slug>/maps/<int:number>/bench-sheet/", cable.bench_sheet, name="bench-sheet"),
    path("cables/<slug:slug>/maps/<int:number>/confirm/", confirm.confirm, name="confirm"),
    path("cables/<slug:slug>/maps/<int:number>/difference/<int:other>/", revisions.difference, name="map-difference"),
    path("cables/<slug:slug>/variants/", confirm.variants, name="variants"),
    path("cables/<slug:slug>/diagnose/", diagnose.diagnose, name="diagnose"),
    path("cables/<slug:slug>/report/", report.report, name="report"),
    path("failure-points/", searching(failing.failing), name="failing"),
    path("bench/", bench.bench, name="bench"),
    path("submit/", submit.submit, name="submit"),
    path("drafts/", submit.drafts, name="drafts"),
    path("drafts/<int:draft_id>/", submit.draft, name="draft"),
    path("drafts/<int:draft_id>/delete/", submit.delete_draft, name="delete-draft"),
    path("which-cable/", which_cable.which_cable, name="which-cable"),
    path("wanted/", wanted.wanted, name="wanted"),
    path("maps.atom", NewMaps(), name="maps-feed"),
    path("rules/", rules.rules, name="rules"),
    path("rules/<slug:code>/", rules.rule, name="rule"),
    path("words/", words.words, name="words"),
    path("account/", account.account, name="account"),
    path("account/decisions/noted/", account.note_decisions, name="note-decisions"),
    path("account/mails/", account.choose_mail, name="choose-mail"),
    path("account/tokens/", account.new_token, name="new-token"),
    path("account/tokens/<slug:key>/revoke/", account.revoke_token, name="revoke-token"),
    path("account/data.json", account.own_data, name="own-data"),
    path("account/remove/", account.remove, name="remove-account"),
    path("account/sign-in/", allauth.login, name="sign-in"),
    path("account/sign-out/", allauth.logout, name="sign-out"),
    path("account/", include(signing_in)),
    path("review/", review.queue, name="review"),
    path("review/decisions/", review.decisions, name="decisions"),
    path("review/maps/<int:number>/", review.contribution, {"kind": Kind.MAP}, name="review-map"),
    path("review/maps/<int:map_id>/document.json", review.document, name="reviewed-document"),
    path("review/reports/<int:number>/", review.contribution, {"kind": Kind.REPORT}, name="review-report"),
]

handler400 = "catalogue.views.errors.bad_request"
handler403 = "catalogue.views.errors.forbidden"
handler404 = "catalogue.views.errors.not_found"
handler429 = "catalogue.views.errors.too_many"
