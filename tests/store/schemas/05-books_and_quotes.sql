BEGIN TRANSACTION;
CREATE TABLE "_sqlite_migrations" (
   "id" INTEGER PRIMARY KEY,
   "migration_set" TEXT,
   "name" TEXT,
   "applied_at" TEXT
);
INSERT INTO "_sqlite_migrations" VALUES(1,'tallyfret','tickets_and_steps','2026-11-25 13:10:10.102915+00:00');
INSERT INTO "_sqlite_migrations" VALUES(2,'tallyfret','clashes','2026-11-25 13:10:10.103218+00:00');
INSERT INTO "_sqlite_migrations" VALUES(3,'tallyfret','keys','2026-11-25 13:10:10.103398+00:00');
INSERT INTO "_sqlite_migrations" VALUES(4,'tallyfret','events','2026-11-25 13:10:10.103632+00:00');
INSERT INTO "_sqlite_migrations" VALUES(5,'tallyfret','books_and_quotes','2026-11-25 13:10:10.103946+00:00');
CREATE TABLE "books" (
   "digest" TEXT PRIMARY KEY NOT NULL,
   "folder" BLOB NOT NULL,
   "loaded_at" TEXT NOT NULL
) STRICT;
INSERT INTO "books" VALUES('t-1',X'62','t-1');
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
CREATE TABLE "events" (
   "id" INTEGER PRIMARY KEY,
   "at" TEXT NOT NULL,
   "who" TEXT NOT NULL,
   "device" TEXT NOT NULL,
   "what" TEXT NOT NULL,
   "ticket" TEXT REFERENCES "tickets"("id"),
   "detail" TEXT NOT NULL
) STRICT;
INSERT INTO "events" VALUES(1,'t-1','t-1','t-1','t-1','t-1','{}');
CREATE TABLE "keys" (
   "key" TEXT PRIMARY KEY NOT NULL,
   "body_sha256" TEXT NOT NULL,
   "status" INTEGER NOT NULL,
   "body" BLOB NOT NULL,
   "headers" TEXT NOT NULL,
   "created" TEXT NOT NULL
) STRICT;
INSERT INTO "keys" VALUES('t-1','t-1',1,X'62','{}','t-1');
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
   "pdf_file" TEXT NOT NULL,
   PRIMARY KEY ("ticket", "revision")
) STRICT;
INSERT INTO "quotes" VALUES('t-1',1,'t-1','t-1','t-1','t-1','t-1','t-1','t-1','t-1');
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
COMMIT;
