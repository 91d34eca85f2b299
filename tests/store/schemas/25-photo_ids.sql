BEGIN TRANSACTION;
CREATE TABLE "_sqlite_migrations" (
   "id" INTEGER PRIMARY KEY,
   "migration_set" TEXT,
   "name" TEXT,
   "applied_at" TEXT
);
INSERT INTO "_sqlite_migrations" VALUES(1,'tallyfret','tickets_and_steps','2026-11-28 15:07:27.347117+00:00');
INSERT INTO "_sqlite_migrations" VALUES(2,'tallyfret','clashes','2026-11-28 15:07:27.358595+00:00');
INSERT INTO "_sqlite_migrations" VALUES(3,'tallyfret','keys','2026-11-28 15:07:27.359095+00:00');
INSERT INTO "_sqlite_migrations" VALUES(4,'tallyfret','events','2026-11-28 15:07:27.368593+00:00');
INSERT INTO "_sqlite_migrations" VALUES(5,'tallyfret','books_and_quotes','2026-11-28 15:07:27.369476+00:00');
INSERT INTO "_sqlite_migrations" VALUES(6,'tallyfret','photos','2026-11-28 15:07:27.370051+00:00');
INSERT INTO "_sqlite_migrations" VALUES(7,'tallyfret','customer_links','2026-11-28 15:07:27.370697+00:00');
INSERT INTO "_sqlite_migrations" VALUES(8,'tallyfret','customer_answers','2026-11-28 15:07:27.371693+00:00');
INSERT INTO "_sqlite_migrations" VALUES(9,'tallyfret','outbox','2026-11-28 15:07:27.381083+00:00');
INSERT INTO "_sqlite_migrations" VALUES(10,'tallyfret','bookkeeping','2026-11-28 15:07:27.381663+00:00');
INSERT INTO "_sqlite_migrations" VALUES(11,'tallyfret','people','2026-11-28 15:07:27.382101+00:00');
INSERT INTO "_sqlite_migrations" VALUES(12,'tallyfret','devices','2026-11-28 15:07:27.382955+00:00');
INSERT INTO "_sqlite_migrations" VALUES(13,'tallyfret','sessions','2026-11-28 15:07:27.383697+00:00');
INSERT INTO "_sqlite_migrations" VALUES(14,'tallyfret','attempts','2026-11-28 15:07:27.414269+00:00');
INSERT INTO "_sqlite_migrations" VALUES(15,'tallyfret','by_whom','2026-11-28 15:07:27.415478+00:00');
INSERT INTO "_sqlite_migrations" VALUES(16,'tallyfret','search','2026-11-28 15:07:27.420548+00:00');
INSERT INTO "_sqlite_migrations" VALUES(17,'tallyfret','promises','2026-11-28 15:07:27.421004+00:00');
INSERT INTO "_sqlite_migrations" VALUES(18,'tallyfret','book_revisions','2026-11-28 15:07:27.422160+00:00');
INSERT INTO "_sqlite_migrations" VALUES(19,'tallyfret','bench','2026-11-28 15:07:27.432699+00:00');
INSERT INTO "_sqlite_migrations" VALUES(20,'tallyfret','discounts','2026-11-28 15:07:27.433398+00:00');
INSERT INTO "_sqlite_migrations" VALUES(21,'tallyfret','longer_beginnings','2026-11-28 15:07:27.434087+00:00');
INSERT INTO "_sqlite_migrations" VALUES(22,'tallyfret','discount_roles','2026-11-28 15:07:27.434803+00:00');
INSERT INTO "_sqlite_migrations" VALUES(23,'tallyfret','edits','2026-11-28 15:07:27.445668+00:00');
INSERT INTO "_sqlite_migrations" VALUES(24,'tallyfret','plans','2026-11-28 15:07:27.446462+00:00');
INSERT INTO "_sqlite_migrations" VALUES(25,'tallyfret','photo_ids','2026-11-28 15:07:27.447324+00:00');
CREATE TABLE "answers" (
   "id" INTEGER PRIMARY KEY,
   "ticket" TEXT NOT NULL REFERENCES "tickets"("id"),
   "revision" INTEGER NOT NULL,
   "kind" TEXT NOT NULL,
   "at" TEXT NOT NULL,
   "way" TEXT NOT NULL,
   "name" TEXT NOT NULL,
   "words" TEXT NOT NULL,
   "signature" TEXT NOT NULL,
   "quote_sha256" TEXT NOT NULL,
   "jobs" TEXT NOT NULL,
   "offer" TEXT NOT NULL,
   "total" TEXT NOT NULL,
   "currency" TEXT NOT NULL,
   "deposit" TEXT NOT NULL,
   "ready" TEXT NOT NULL,
   "who" TEXT NOT NULL,
   "link" INTEGER NOT NULL
) STRICT;
INSERT INTO "answers" VALUES(1,'t-1',1,'t-1','t-1','t-1','t-1','t-1','t-1','t-1','[]','t-1','t-1','t-1','t-1','t-1','t-1',1);
CREATE TABLE "attempts" (
   "kind" TEXT NOT NULL,
   "about" TEXT NOT NULL,
   "count" INTEGER NOT NULL,
   "last" TEXT NOT NULL,
   "locked_until" TEXT NOT NULL,
   PRIMARY KEY ("kind", "about")
) STRICT;
INSERT INTO "attempts" VALUES('t-1','t-1',1,'t-1','t-1');
CREATE TABLE "bench" (
   "ticket" TEXT NOT NULL REFERENCES "tickets"("id"),
   "day" TEXT NOT NULL,
   "seconds" INTEGER NOT NULL,
   "ready" TEXT NOT NULL,
   PRIMARY KEY ("ticket", "day")
) STRICT;
INSERT INTO "bench" VALUES('t-1','t-1',1,'t-1');
CREATE TABLE "book_draft" (
   "id" INTEGER PRIMARY KEY,
   "base" INTEGER NOT NULL REFERENCES "book_revisions"("number"),
   "folder" BLOB NOT NULL,
   "kind" TEXT NOT NULL,
   "about" TEXT NOT NULL,
   "changed_at" TEXT NOT NULL
) STRICT;
INSERT INTO "book_draft" VALUES(1,1,X'62','t-1','t-1','t-1');
CREATE TABLE "book_revisions" (
   "number" INTEGER PRIMARY KEY,
   "digest" TEXT NOT NULL REFERENCES "books"("digest"),
   "folder" BLOB,
   "at" TEXT NOT NULL,
   "kind" TEXT NOT NULL,
   "about" TEXT NOT NULL,
   "changes" TEXT NOT NULL,
   "replaced" INTEGER REFERENCES "book_revisions"("number"),
   "person" INTEGER REFERENCES "people"("id"),
   "who" TEXT NOT NULL,
   "device" TEXT NOT NULL
) STRICT;
INSERT INTO "book_revisions" VALUES(1,'t-1',X'62','t-1','t-1','t-1','t-1',1,1,'t-1','t-1');
CREATE TABLE "bookkeeping" (
   "ticket" TEXT NOT NULL REFERENCES "tickets"("id"),
   "revision" INTEGER NOT NULL,
   "number" INTEGER NOT NULL,
   "made_at" TEXT NOT NULL,
   "currency" TEXT NOT NULL,
   "totals" TEXT NOT NULL,
   "agreed" TEXT NOT NULL,
   "erased_at" TEXT NOT NULL,
   PRIMARY KEY ("ticket", "revision")
) STRICT;
INSERT INTO "bookkeeping" VALUES('t-1',1,1,'t-1','t-1','t-1','t-1','t-1');
CREATE TABLE "books" (
   "digest" TEXT PRIMARY KEY NOT NULL,
   "folder" BLOB NOT NULL,
   "loaded_at" TEXT NOT NULL
) STRICT;
INSERT INTO "books" VALUES('t-1',X'62','t-1');
CREATE TABLE "choices" (
   "ticket" TEXT NOT NULL REFERENCES "tickets"("id"),
   "revision" INTEGER NOT NULL,
   "jobs" TEXT NOT NULL,
   "changed" TEXT NOT NULL,
   PRIMARY KEY ("ticket", "revision")
) STRICT;
INSERT INTO "choices" VALUES('t-1',1,'[]','t-1');
CREATE TABLE "clashes" (
   "id" INTEGER PRIMARY KEY,
   "ticket" TEXT NOT NULL REFERENCES "tickets"("id"),
   "step" TEXT NOT NULL,
   "revision" INTEGER NOT NULL,
   "based_on" INTEGER NOT NULL,
   "fields" TEXT NOT NULL,
   "passed" TEXT NOT NULL,
   "device" TEXT NOT NULL,
   "saved_at" TEXT NOT NULL,
   "settled_at" TEXT NOT NULL
) STRICT;
INSERT INTO "clashes" VALUES(1,'t-1','t-1',1,1,'[["wish", "t-1"]]','t-1','t-1','t-1','t-1');
CREATE TABLE "devices" (
   "id" INTEGER PRIMARY KEY,
   "name" TEXT NOT NULL,
   "token_sha256" TEXT NOT NULL,
   "enrolled_by" INTEGER NOT NULL REFERENCES "people"("id"),
   "enrolled_at" TEXT NOT NULL,
   "last_seen" TEXT NOT NULL,
   "revoked_at" TEXT NOT NULL
) STRICT;
INSERT INTO "devices" VALUES(1,'t-1','t-1',1,'t-1','t-1','t-1');
CREATE TABLE "discounts" (
   "ticket" TEXT PRIMARY KEY NOT NULL REFERENCES "tickets"("id"),
   "rate" TEXT NOT NULL,
   "amount" TEXT NOT NULL,
   "reason" TEXT NOT NULL,
   "who" TEXT NOT NULL,
   "at" TEXT NOT NULL
, "role" TEXT NOT NULL DEFAULT '') STRICT;
INSERT INTO "discounts" VALUES('t-1','t-1','t-1','t-1','t-1','t-1','t-1');
CREATE TABLE "edits" (
   "at" INTEGER PRIMARY KEY NOT NULL,
   "id" TEXT NOT NULL,
   "ticket" TEXT NOT NULL REFERENCES "tickets"("id"),
   "part" TEXT NOT NULL,
   "value" TEXT NOT NULL,
   "base" TEXT NOT NULL,
   "by" TEXT NOT NULL,
   "act" TEXT NOT NULL,
   "log" TEXT NOT NULL,
   "seq" INTEGER NOT NULL,
   "fate" TEXT NOT NULL,
   "same_as" TEXT NOT NULL,
   "why" TEXT NOT NULL,
   "who" TEXT NOT NULL,
   "phone" TEXT NOT NULL,
   "device" TEXT NOT NULL,
   "taken_at" TEXT NOT NULL
) STRICT;
INSERT INTO "edits" VALUES(1,'t-1','t-1','t-1','t-1','t-1','t-1','t-1','t-1',1,'t-1','t-1','t-1','t-1','t-1','t-1','t-1');
CREATE TABLE "enrolments" (
   "code_sha256" TEXT PRIMARY KEY NOT NULL,
   "made_by" INTEGER NOT NULL REFERENCES "people"("id"),
   "expires" TEXT NOT NULL,
   "used_at" TEXT NOT NULL
) STRICT;
INSERT INTO "enrolments" VALUES('t-1',1,'t-1','t-1');
CREATE TABLE "events" (
   "id" INTEGER PRIMARY KEY,
   "at" TEXT NOT NULL,
   "who" TEXT NOT NULL,
   "device" TEXT NOT NULL,
   "what" TEXT NOT NULL,
   "ticket" TEXT REFERENCES "tickets"("id"),
   "detail" TEXT NOT NULL
, person integer references people(id), phone integer references devices(id)) STRICT;
INSERT INTO "events" VALUES(1,'t-1','t-1','t-1','t-1','t-1','{}',1,1);
CREATE TABLE "keys" (
   "key" TEXT PRIMARY KEY NOT NULL,
   "body_sha256" TEXT NOT NULL,
   "status" INTEGER NOT NULL,
   "body" BLOB NOT NULL,
   "headers" TEXT NOT NULL,
   "created" TEXT NOT NULL
) STRICT;
INSERT INTO "keys" VALUES('t-1','t-1',1,X'62','{}','t-1');
CREATE TABLE "links" (
   "id" INTEGER PRIMARY KEY,
   "ticket" TEXT NOT NULL REFERENCES "tickets"("id"),
   "revision" INTEGER NOT NULL,
   "token_sha256" TEXT NOT NULL,
   "language" TEXT NOT NULL,
   "created" TEXT NOT NULL,
   "expires" TEXT NOT NULL,
   "withdrawn" TEXT NOT NULL,
   "seen" TEXT NOT NULL
) STRICT;
INSERT INTO "links" VALUES(1,'t-1',1,'t-1','t-1','t-1','t-1','t-1','t-1');
CREATE TABLE "lives" (
   "id" INTEGER PRIMARY KEY,
   "epoch" TEXT NOT NULL,
   "version" INTEGER NOT NULL,
   "backed_up" INTEGER NOT NULL
) STRICT;
INSERT INTO "lives" VALUES(1,'t-1',1,1);
CREATE TABLE "logs" (
   "log" TEXT NOT NULL,
   "ticket" TEXT NOT NULL REFERENCES "tickets"("id"),
   "taken" INTEGER NOT NULL,
   PRIMARY KEY ("ticket", "log")
) STRICT;
INSERT INTO "logs" VALUES('t-1','t-1',1);
CREATE TABLE "outbox" (
   "id" INTEGER PRIMARY KEY,
   "ticket" TEXT NOT NULL REFERENCES "tickets"("id"),
   "revision" INTEGER NOT NULL,
   "message_id" TEXT NOT NULL,
   "recipient" TEXT NOT NULL,
   "language" TEXT NOT NULL,
   "address" TEXT NOT NULL,
   "note" TEXT NOT NULL,
   "state" TEXT NOT NULL,
   "attempts" INTEGER NOT NULL,
   "due" TEXT NOT NULL,
   "created" TEXT NOT NULL,
   "changed" TEXT NOT NULL,
   "said" TEXT NOT NULL,
   "link" INTEGER NOT NULL
) STRICT;
INSERT INTO "outbox" VALUES(1,'t-1',1,'t-1','t-1','t-1','t-1','t-1','t-1',1,'t-1','t-1','t-1','t-1',1);
CREATE TABLE "parts" (
   "ticket" TEXT NOT NULL REFERENCES "tickets"("id"),
   "part" TEXT NOT NULL,
   "value" TEXT NOT NULL,
   "by" TEXT NOT NULL,
   "heads" TEXT NOT NULL,
   "sides" INTEGER NOT NULL,
   "first" INTEGER NOT NULL,
   "at" INTEGER NOT NULL,
   PRIMARY KEY ("ticket", "part")
) STRICT;
INSERT INTO "parts" VALUES('t-1','t-1','t-1','t-1','t-1',1,1,1);
CREATE TABLE "people" (
   "id" INTEGER PRIMARY KEY,
   "name" TEXT NOT NULL,
   "role" TEXT NOT NULL,
   "pin_hash" TEXT NOT NULL,
   "password_hash" TEXT NOT NULL,
   "active" INTEGER NOT NULL,
   "created" TEXT NOT NULL
) STRICT;
INSERT INTO "people" VALUES(1,'t-1','t-1','t-1','t-1',1,'t-1');
CREATE TABLE "photos" (
   "sha256" TEXT NOT NULL,
   "ticket" TEXT NOT NULL REFERENCES "tickets"("id"),
   "kind" TEXT NOT NULL,
   "width" INTEGER NOT NULL,
   "height" INTEGER NOT NULL,
   "bytes" INTEGER NOT NULL,
   "created" TEXT NOT NULL, "id" TEXT NOT NULL DEFAULT '',
   PRIMARY KEY ("ticket", "sha256")
) STRICT;
INSERT INTO "photos" VALUES('t-1','t-1','t-1',1,1,1,'t-1','t-1');
CREATE TABLE "plans" (
   "ticket" TEXT PRIMARY KEY NOT NULL REFERENCES "tickets"("id"),
   "blocks" TEXT NOT NULL
) STRICT;
INSERT INTO "plans" VALUES('t-1','t-1');
CREATE TABLE "quotes" (
   "ticket" TEXT NOT NULL REFERENCES "tickets"("id"),
   "revision" INTEGER NOT NULL,
   "made_at" TEXT NOT NULL,
   "book_digest" TEXT NOT NULL REFERENCES "books"("digest"),
   "app_version" TEXT NOT NULL,
   "walkin" TEXT NOT NULL,
   "quote" TEXT NOT NULL,
   "exact" TEXT NOT NULL,
   "pdf_sha256" TEXT NOT NULL,
   "pdf_file" TEXT NOT NULL, staff text not null default '', "version" INTEGER NOT NULL DEFAULT 0,
   PRIMARY KEY ("ticket", "revision")
) STRICT;
INSERT INTO "quotes" VALUES('t-1',1,'t-1','t-1','t-1','t-1','t-1','t-1','t-1','t-1','t-1',1);
CREATE TABLE "sessions" (
   "id" INTEGER PRIMARY KEY,
   "token_sha256" TEXT NOT NULL,
   "person" INTEGER NOT NULL REFERENCES "people"("id"),
   "device" INTEGER REFERENCES "devices"("id"),
   "created" TEXT NOT NULL,
   "last_seen" TEXT NOT NULL,
   "ended" TEXT NOT NULL
) STRICT;
INSERT INTO "sessions" VALUES(1,'t-1',1,1,'t-1','t-1','t-1');
CREATE TABLE "steps" (
   "ticket" TEXT NOT NULL REFERENCES "tickets"("id"),
   "step" TEXT NOT NULL,
   "revision" INTEGER NOT NULL,
   "fields" TEXT NOT NULL,
   "passed" TEXT NOT NULL,
   "device" TEXT NOT NULL,
   "saved_at" TEXT NOT NULL,
   PRIMARY KEY ("ticket", "step", "revision")
) STRICT;
INSERT INTO "steps" VALUES('t-1','t-1',1,'[["wish", "t-1"]]','t-1','t-1','t-1');
CREATE TABLE "tickets" (
   "id" TEXT PRIMARY KEY,
   "number" INTEGER NOT NULL,
   "created" TEXT NOT NULL,
   "updated" TEXT NOT NULL,
   "name" TEXT NOT NULL,
   "phone" TEXT NOT NULL,
   "family" TEXT NOT NULL,
   "serial" TEXT NOT NULL,
   "state" TEXT NOT NULL,
   "language" TEXT NOT NULL,
   "total" TEXT,
   "currency" TEXT,
   "ready" TEXT
) STRICT;
INSERT INTO "tickets" VALUES('t-1',1,'t-1','t-1','t-1','t-1','t-1','t-1','t-1','t-1','t-1','t-1','t-1');
CREATE UNIQUE INDEX "idx__sqlite_migrations_migration_set_name"
    ON "_sqlite_migrations" ("migration_set", "name");
CREATE UNIQUE INDEX "idx_tickets_number"
    ON "tickets" ("number");
CREATE INDEX "idx_clashes_ticket_step"
    ON "clashes" ("ticket", "step");
CREATE INDEX "idx_keys_created"
    ON "keys" ("created");
CREATE INDEX "idx_events_ticket_id"
    ON "events" ("ticket", "id");
CREATE INDEX "idx_photos_sha256"
    ON "photos" ("sha256");
CREATE INDEX "idx_links_ticket_id"
    ON "links" ("ticket", "id");
CREATE UNIQUE INDEX "idx_links_token_sha256"
    ON "links" ("token_sha256");
CREATE INDEX "idx_answers_ticket_id"
    ON "answers" ("ticket", "id");
CREATE UNIQUE INDEX one_go_ahead on answers (ticket, revision) where kind = 'goahead';
CREATE INDEX "idx_outbox_ticket_id"
    ON "outbox" ("ticket", "id");
CREATE UNIQUE INDEX "idx_outbox_message_id"
    ON "outbox" ("message_id");
CREATE INDEX "idx_outbox_state_due"
    ON "outbox" ("state", "due");
CREATE UNIQUE INDEX people_by_name on people (name collate nocase);
CREATE UNIQUE INDEX one_owner on people (role) where role = 'owner';
CREATE UNIQUE INDEX "idx_devices_token_sha256"
    ON "devices" ("token_sha256");
CREATE UNIQUE INDEX "idx_sessions_token_sha256"
    ON "sessions" ("token_sha256");
CREATE INDEX promised on answers (ready) where kind = 'goahead';
CREATE INDEX "idx_bench_day_ready_seconds_ticket"
    ON "bench" ("day", "ready", "seconds", "ticket");
CREATE INDEX done on tickets (ready) where state = 'done';
CREATE UNIQUE INDEX "idx_edits_id"
    ON "edits" ("id");
CREATE INDEX "idx_edits_ticket_part"
    ON "edits" ("ticket", "part");
CREATE INDEX clashed_parts on parts (ticket) where sides > 1;
COMMIT;
CREATE VIRTUAL TABLE search using fts5 (name, phone, serial, words, tokenize = 'unicode61', prefix = '1 2 3 4 5 6', detail = column, columnsize = 0);
