"""The page of the background work, and whether the service can do its work."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from loft.common import health, pages
from loft.jobs import mail, running, selectors, services
from loft.jobs.models import Job
from loft.jobs.states import State


@require_GET
@pages.may("manage_jobs")
def job_list(request: HttpRequest) -> HttpResponse:
    """Jobs with what became of them; what was given up stands on top."""
    state, lane = request.GET.get("state", ""), request.GET.get("lane", "")
    state, lane = state if state in State.values else "", lane if lane in Job.Lane.values else ""
    page = Paginator(selectors.jobs(state=state, lane=lane), pages.ROWS_A_PAGE).get_page(request.GET.get("page"))
    counts = selectors.count_by_state()
    context = {
        "place": "jobs", "page": page, "rows": [(job, mail.about_of(job)) for job in page], "state": state, "lane": lane,
        "states": [(s.value, s.label, counts.get(s.value, 0)) for s in State], "lanes": Job.Lane.values,
        "dead": [] if state == State.DEAD else [(job, mail.about_of(job)) for job in selectors.dead()[: pages.ROWS_A_PAGE]],
        "most": running.MAX_ATTEMPTS, "cancellable": [State.READY, State.RUNNING],
    }  # fmt: skip
    return render(request, "jobs/job_list.html", context)


@require_POST
@pages.may("manage_jobs")
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a job back: at once if it waits, at its next step if it runs."""
    job = selectors.job(pk)

    def write() -> str:
        row = services.cancel(key=job.key, by=pages.person(request))
        return "Cancelled." if row.state == State.CANCELLED else "It runs at this moment, and stops at its next step."

    return pages.done(request, write, back=reverse("job_list"))


@require_POST
@pages.may("manage_jobs")
def run_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Bring a job back from the dead list."""
    job = selectors.job(pk)

    def write() -> str:
        services.retry(key=job.key, by=pages.person(request))
        return "It will be run again."

    return pages.done(request, write, back=reverse("job_list"))


def readyz(request: HttpRequest) -> HttpResponse:
    """Database, migrations, and how long the oldest due job has waited (seconds)."""
    problems = health.database_ready()
    facts: dict[str, object] = {}
    if not problems:
        waited = selectors.oldest_waiting_s(now=timezone.now())
        facts = {"oldest_job_s": round(waited), "dead_jobs": selectors.dead_count()}
        if waited > selectors.STUCK_AFTER_S:
            problems["jobs"] = f"the oldest due job has waited {round(waited)} s: is a worker running?"
    return health.answer(problems, facts)
