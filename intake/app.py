"""The web application, put together."""

from __future__ import annotations

from datetime import timedelta

from flask import Flask

from intake.config import Settings, data_root
from intake.counter import compress, errors, gate, installing, security, static_files, who, words
from intake.counter.blueprint import register_routes
from intake.counter.desk import Desk
from intake.counter.in_force import check_in_force, take_in
from intake.counter.owner.blueprint import register_routes as owner_routes
from intake.customer.routes import customer
from intake.operation import web
from intake.operation.settings import open_store
from intake.post import post as office
from intake.post.routes import post
from intake.store import keys

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
    app.jinja_options = {"trim_blocks": True, "lstrip_blocks": True}
    here = open_desk(settings)
    app.extensions["desk"] = here
    words.install(app, lambda: here.book.shop.locale)
    web.install(app)
    errors.install(app)
    security.protect(app)
    who.install(app)
    gate.install(app)
    static_files.install(app)
    installing.install(app)
    compress.install(app)
    app.register_blueprint(register_routes())
    app.register_blueprint(owner_routes())
    app.register_blueprint(customer)
    app.register_blueprint(post)
    office.install(app, here)
    return app


def open_desk(settings: Settings) -> Desk:
    """Store, clock and the book in force. Raises BookError if that book cannot be read."""
    store = open_store(settings.data)
    book = take_in(store, settings.book, settings.now())
    with store.writing() as db:
        keys.forget(db, settings.now() - KEYS_KEPT)
    here = Desk(store, settings.now, old_books={book.digest: book} if book else {})
    check_in_force(here)
    return here
