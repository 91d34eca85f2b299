"""A photo taken into a ticket: its file and row, and the part that says that it is there.

Taking it away is an edit of that part to nothing, and the picture stays: whoever drew on it meanwhile clashes
with that, and the photo is there again once somebody chooses so.
"""

from __future__ import annotations

from sqlite_utils import Database

from intake.book.parts import PHOTO_THERE, PHOTOS
from intake.i18n import _
from intake.services import edits
from intake.services.context import Context
from intake.services.edits import Sender, Sent
from intake.services.errors import InvalidRequestError
from intake.services.images import Picture
from intake.store import edits as edit_rows
from intake.store import photos
from intake.store.ids import uuid7
from intake.store.photos import Photo


def add(ctx: Context, db: Database, ticket: str, picture: Picture, by: Sender, id: str = "") -> Photo:
    """Keep a picture that `as_jpeg` made, under the phone's `id`; the ticket stands already.

    An id that came before gives the photo that it gave then, also one that was taken away since. The same
    picture twice is one photo. Raises InvalidRequestError where the ticket is full.
    """
    jpeg, width, height = picture
    sha256, now = photos.hash_of(jpeg), ctx.now()
    came_before = bool(id) and edit_rows.find(db, id) is not None
    known = photos.with_id(db, ticket, id) or photos.with_picture(db, ticket, sha256)
    if known and (came_before or photos.is_there(db, known)):
        return known
    photos.write(ctx.store.photos, jpeg)
    own = id if id and not came_before else str(uuid7(now))
    photo = photos.keep(db, ticket, sha256, (width, height), len(jpeg), now, id=own)
    taken = edits.take(db, ctx.book, ticket, [Sent(own, f"{PHOTOS}{own}", PHOTO_THERE)], by, now)
    if taken.edits[0].fate == "refused":
        raise InvalidRequestError(_("This ticket holds as many answers and photos as one can."))
    return photo
