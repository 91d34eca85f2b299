BEGIN TRANSACTION;
CREATE TABLE "_sqlite_migrations" (
   "id" INTEGER PRIMARY KEY,
   "migration_set" TEXT,
   "name" TEXT,
   "applied_at" TEXT
);
INSERT INTO "_sqlite_migrations" VALUES(1,'tallyfret','tickets_and_steps','2026-11-25 13:10:10.062471+00:00');
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
COMMIT;
