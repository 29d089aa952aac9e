"""Who may do what: five roles and one table. A person may have several roles; what one of them may do, the person may."""

from __future__ import annotations

from django.contrib.auth.models import AnonymousUser, User

from loft.common.errors import NotAllowed

MANAGER = "manager"
OFFICE = "office"
CUTTER = "cutter"
SEWER = "sewer"
READER = "reader"  # sees the desk and the floor, and changes nothing
ROLES = (MANAGER, OFFICE, CUTTER, SEWER, READER)

_MANAGER_ONLY = frozenset({MANAGER})
_DESK = frozenset({MANAGER, OFFICE})
_DESK_TO_READ = _DESK | {READER}
_EVERYBODY = frozenset(ROLES)

# Every action of the service that is guarded, and the roles that may take it. A superuser may take all.
ACTIONS: dict[str, frozenset[str]] = {
    # the desk
    "see_orders": _EVERYBODY,
    "see_prices": _DESK_TO_READ,
    "see_costs": _DESK_TO_READ,
    "see_customers": _DESK_TO_READ,
    "edit_customers": _DESK,
    "draft_quote": _DESK,
    "issue_quote": _DESK,
    "issue_below_floor": _MANAGER_ONLY,
    "sell_non_class": _MANAGER_ONLY,
    "cancel_quote": _DESK,
    "record_payment": _DESK,
    "give_sail_number": _DESK,
    "promise_day": _DESK,
    "deliver_order": _DESK,
    "cancel_order": _MANAGER_ONLY,
    "write_to_members": _DESK,
    # the floor
    "see_tickets": _EVERYBODY,
    "release_ticket": _DESK,
    "scrap_ticket": _DESK,
    "work_ticket": frozenset({MANAGER, CUTTER, SEWER}),
    "work_cutter": frozenset({MANAGER, CUTTER}),
    "work_sewer": frozenset({MANAGER, SEWER}),
    "work_finisher": frozenset({MANAGER, SEWER}),
    "measure_sail": frozenset({MANAGER, OFFICE, SEWER}),
    "confirm_cloth": frozenset({MANAGER, OFFICE, CUTTER}),
    "plan_lay": frozenset({MANAGER, OFFICE, CUTTER}),
    "ask_remake": frozenset({MANAGER, OFFICE, CUTTER, SEWER}),
    # the catalogue and the loft itself
    "see_catalogue": _EVERYBODY,
    "load_catalogue": _MANAGER_ONLY,
    "edit_profile": _MANAGER_ONLY,
    "see_history": _MANAGER_ONLY,
    "manage_people": _MANAGER_ONLY,
    "manage_jobs": _MANAGER_ONLY,
    "personal_data": _MANAGER_ONLY,
}


def roles_of(user: User | AnonymousUser) -> frozenset[str]:
    """The roles that a person has; none for somebody who is not signed in or was switched off."""
    if not user.is_authenticated or not user.is_active:
        return frozenset()
    # Kept on the user object, which lives for one request: one query a request, not one a question.
    if "loft_roles" not in user.__dict__:
        user.__dict__["loft_roles"] = roles_in_store(user)
    roles: frozenset[str] = user.__dict__["loft_roles"]
    return roles


def roles_in_store(user: User) -> frozenset[str]:
    """The roles that an account is given, whether it is switched on or not."""
    return frozenset(user.groups.filter(name__in=ROLES).values_list("name", flat=True))


def allowed(user: User | AnonymousUser, action: str) -> bool:
    """Whether this person may take this action; KeyError for an action that the table does not know."""
    roles = ACTIONS[action]
    if user.is_active and user.is_superuser:
        return True
    return bool(roles & roles_of(user))


def require(user: User | AnonymousUser | None, action: str) -> None:
    """Raise NotAllowed, with the role that would be needed, unless this person may take this action.

    Services ask too. None is nobody who signed in: the service's own jobs, a command in the shell, the customer behind a link.
    """
    if user is not None and not allowed(user, action):
        roles = " or ".join(sorted(ACTIONS[action]))
        raise NotAllowed(f"This needs the role {roles}.")
