"""Sign in, sign out, my sessions, my calendars."""

from uuid import UUID

from django.conf import settings
from django.contrib import auth, messages
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render, resolve_url
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from apps.accounts import services
from apps.accounts.actors import actor_of
from apps.accounts.choices import Role
from apps.accounts.forms import SignInForm
from apps.accounts.models import User
from apps.accounts.selectors import feed_addresses, feeds_open
from apps.accounts.signing import sign_in
from apps.core import clock
from apps.core.exceptions import Conflict, TooMany


def _next(request: HttpRequest, user: User) -> str:
    wanted = str(request.POST.get("next") or request.GET.get("next") or "")
    if url_has_allowed_host_and_scheme(wanted, {request.get_host()}, request.is_secure()):
        return wanted
    home = "/field/" if user.role == Role.TECHNICIAN else settings.LOGIN_REDIRECT_URL
    return str(resolve_url(home))


@login_not_required
@sensitive_post_parameters("password")
@require_http_methods(["GET", "HEAD", "POST"])
def login(request: HttpRequest) -> HttpResponse:
    """Anyone: sign in by name and password."""
    form = SignInForm(request.POST or None)
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            answer = _try(request, form)
            if answer is not None:
                return answer
            if form.has_error(NON_FIELD_ERRORS, TooMany.code):
                status = TooMany.status
    context = {"form": form, "next": request.GET.get("next") or request.POST.get("next", "")}
    return render(request, "accounts/login.html", context, status=status)


def _try(request: HttpRequest, form: SignInForm) -> HttpResponse | None:
    data = form.cleaned_data
    try:
        user = sign_in(request, data["username"], data["password"])
    except TooMany as error:
        form.add_error(None, ValidationError(error.message, error.code))
        return None
    if user is None:
        form.add_error(None, _("Name and password do not belong together. Check both."))
        return None
    return HttpResponseRedirect(_next(request, user))


@require_POST
def logout(request: HttpRequest) -> HttpResponse:
    """Any staff: sign out, and wipe what this browser holds."""
    auth.logout(request)
    response = redirect(settings.LOGOUT_REDIRECT_URL)
    response["Clear-Site-Data"] = '"cache", "storage"'
    return response


@require_http_methods(["GET", "HEAD", "POST"])
def sessions(request: HttpRequest) -> HttpResponse:
    """Any staff: one's own signed-in browsers; POST ends one."""
    user = request.user
    assert isinstance(user, User)  # noqa: S101 - LoginRequiredMiddleware stands before
    if request.method == "POST":
        services.session_end(
            user=user, session_key=str(request.POST.get("session", "")), at=clock.now()
        )
        messages.info(request, _("That browser is signed out."))
        return redirect("accounts:sessions")
    rows = user.staff_sessions.order_by("-began_at")
    context = {"rows": rows, "current": request.session.session_key}
    return render(request, "accounts/sessions.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def calendars(request: HttpRequest) -> HttpResponse:
    """Any staff: addresses at which one's own visits are read; POST makes one, shown this once."""
    user, actor = request.user, actor_of(request)
    assert isinstance(user, User)  # noqa: S101 - LoginRequiredMiddleware stands before
    made, status = {}, 200
    if request.method == "POST":
        try:
            made = feed_addresses(services.feed_issue(user=user, at=actor.at, by=actor))
        except Conflict as error:
            messages.error(request, error.message)
            status = error.status
    context = {"feeds": feeds_open(actor).filter(user=user), "made": made}
    return render(request, "accounts/calendars.html", context, status=status)


@require_POST
def calendar_end(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Any staff: end one of one's own calendar addresses; the office: anybody's."""
    actor = actor_of(request)
    row = feeds_open(actor).filter(pk=pk).first()
    if row is None:
        raise Http404
    services.feed_revoke(feed=row, by=actor, at=actor.at)
    messages.success(request, _("That address is ended. Calendars find nothing there now."))
    if row.user_id == actor.user_id:
        return redirect("accounts:calendars")
    wanted = str(request.POST.get("next", ""))
    if not url_has_allowed_host_and_scheme(wanted, {request.get_host()}, request.is_secure()):
        wanted = str(resolve_url(settings.LOGIN_REDIRECT_URL))
    return HttpResponseRedirect(wanted)
