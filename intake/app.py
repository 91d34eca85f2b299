"""The web application, put together."""

from __future__ import annotations

from datetime import timedelta

from flask import Flask

from intake.config import Settings, data_root
from intake.operations.backup_settings import open_store
from intake.screens import access, bench, board, book_editor, monitoring, portal, pwa, quotes, wizard
from intake.services.context import Context
from intake.services.current_book import check_in_force, take_in
from intake.services.mail_office import MailOffice
from intake.store import idempotency_keys
from intake.store.tokens import new_code
from intake.web import (
    access_control,
    body_limits,
    build,
    errors,
    headers,
    identity,
    page_compression,
    request_log,
    static_files,
    store_life,
    templating,
)
from intake.web.context import request_cache

SCREENS = (access, bench, board, book_editor, monitoring, portal, pwa, quotes, wizard)
LARGEST_REQUEST = 24 * 1024 * 1024
LARGEST_TEXT = 1024 * 1024
MOST_FIELDS = 5000
KEYS_KEPT = timedelta(days=90)


def create_app(settings: Settings) -> Flask:
    """The application with its book loaded and its store open. Raises BookError for a faulty book."""
    root = data_root()
    app = Flask("intake", template_folder=str(root / "templates"), static_folder=str(root / "static"))
    app.config["MAX_CONTENT_LENGTH"] = LARGEST_REQUEST
    app.config["MAX_FORM_MEMORY_SIZE"] = LARGEST_TEXT
    app.config["MAX_FORM_PARTS"] = MOST_FIELDS
    app.config["SETUP_CODE"] = new_code()
    app.jinja_options = {"trim_blocks": True, "lstrip_blocks": True}
    ctx = open_context(settings)
    app.extensions["context"] = ctx
    templating.install(app, lambda: ctx.book.shop)
    request_log.install(app)
    errors.install(app)
    body_limits.install(app)
    headers.protect(app)
    identity.install(app)
    access_control.install(app)
    static_files.install(app)
    build.install(app)
    store_life.install(app)
    page_compression.install(app)
    for screen in SCREENS:
        app.register_blueprint(screen.blueprint)
    start_mail(app, ctx)
    return app


def start_mail(app: Flask, ctx: Context) -> None:
    """The shop's mail with its sender running."""
    office = MailOffice(ctx)
    app.extensions["post"] = office
    office.start()


def open_context(settings: Settings) -> Context:
    """Store, clock and the book in force. Raises BookError if that book cannot be read."""
    store = open_store(settings.data)
    book = take_in(store, settings.book, settings.now())
    with store.writing() as db:
        idempotency_keys.forget(db, settings.now() - KEYS_KEPT)
    here = Context(
        store, settings.now, old_books={book.digest: book} if book else {}, request_cache=request_cache
    )
    check_in_force(here)
    return here
