"""How passwords are kept in development mode."""

from django.contrib.auth.hashers import PBKDF2PasswordHasher


class DevelopmentHasher(PBKDF2PasswordHasher):
    """Quick to compute, and unknown to production.

    A production server that opens a database from development mode does not know this algorithm,
    so that no password set there, least of all the demo's public one, lets anybody in.
    """

    algorithm = "development_only"
    iterations = 1_000
