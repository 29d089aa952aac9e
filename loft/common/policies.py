"""Who may do what: two roles and one table."""

from __future__ import annotations

from django.contrib.auth.models import AnonymousUser, User

from loft.common.errors import NotAllowed

MANAGER = "manager"
CUTTER = "cutter"
ROLES = (MANAGER, CUTTER)

_MANAGER_ONLY = frozenset({MANAGER})
_EVERYBODY = frozenset({MANAGER, CUTTER})

# Every action of the service that is guarded, and the roles that may take it. A superuser may take all.
ACTIONS: dict[str, frozenset[str]] = {
    # the desk
    "see_orders": _EVERYBODY,
    "see_prices": _MANAGER_ONLY,
    "see_costs": _MANAGER_ONLY,
    "edit_customers": _MANAGER_ONLY,
    "see_customers": _MANAGER_ONLY,
    "draft_quote": _MANAGER_ONLY,
    "issue_quote": _MANAGER_ONLY,
    "cancel_quote": _MANAGER_ONLY,
    "record_payment": _MANAGER_ONLY,
    "give_sail_number": _MANAGER_ONLY,
    "cancel_order": _MANAGER_ONLY,
    # the floor
    "see_tickets": _EVERYBODY,
    "release_ticket": _MANAGER_ONLY,
    "work_ticket": _EVERYBODY,
    "confirm_cloth": _EVERYBODY,
    # the catalogue
    "see_catalogue": _EVERYBODY,
    "load_catalogue": _MANAGER_ONLY,
    "edit_profile": _MANAGER_ONLY,
}


def roles_of(user: User | AnonymousUser) -> frozenset[str]:
    """The roles that a person has; none for somebody who is not signed in or was switched off."""
    if not user.is_authenticated or not user.is_active:
        return frozenset()
    # Kept on the user object, which lives for one request: one query a request, not one a question.
    if "loft_roles" not in user.__dict__:
        user.__dict__["loft_roles"] = frozenset(user.groups.filter(name__in=ROLES).values_list("name", flat=True))
    roles: frozenset[str] = user.__dict__["loft_roles"]
    return roles


def allowed(user: User | AnonymousUser, action: str) -> bool:
    """Whether this person may take this action; KeyError for an action that the table does not know."""
    roles = ACTIONS[action]
    if user.is_active and user.is_superuser:
        return True
    return bool(roles & roles_of(user))


def require(user: User | AnonymousUser, action: str) -> None:
    """Raise NotAllowed, with the role that would be needed, unless this person may take this action."""
    if not allowed(user, action):
        roles = " or ".join(sorted(ACTIONS[action]))
        raise NotAllowed(f"This needs the role {roles}.")
