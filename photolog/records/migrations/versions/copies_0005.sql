CREATE TABLE photo_file (
    id INTEGER NOT NULL,
    photo_id INTEGER NOT NULL,
    sha256 TEXT NOT NULL,
    name TEXT NOT NULL,
    file_kind TEXT NOT NULL,
    kept INTEGER NOT NULL,
    taken_over TEXT NOT NULL,
    seen_at TEXT NOT NULL,
    CONSTRAINT pk_photo_file PRIMARY KEY (id),
    CONSTRAINT ck_photo_file_sha256_whole CHECK (length(sha256) = 64),
    CONSTRAINT ck_photo_file_kept_yes_no CHECK (kept IN (0, 1)),
    CONSTRAINT fk_photo_file_photo_id FOREIGN KEY(photo_id) REFERENCES photo (id) ON DELETE CASCADE
) STRICT;

CREATE INDEX ix_photo_file_sha256 ON photo_file (sha256);

CREATE UNIQUE INDEX uq_photo_file_photo_id_sha256_name ON photo_file (photo_id, sha256, name);

CREATE TABLE sketch (
    photo_id INTEGER NOT NULL,
    pixels BLOB NOT NULL,
    compared INTEGER NOT NULL,
    CONSTRAINT pk_sketch PRIMARY KEY (photo_id),
    CONSTRAINT ck_sketch_compared_yes_no CHECK (compared IN (0, 1)),
    CONSTRAINT fk_sketch_photo_id FOREIGN KEY(photo_id) REFERENCES photo (id) ON DELETE CASCADE
) STRICT;

CREATE INDEX ix_sketch_compared ON sketch (compared);

CREATE TABLE copy (
    id INTEGER NOT NULL,
    photo_id INTEGER NOT NULL,
    of_photo_id INTEGER NOT NULL,
    state TEXT NOT NULL,
    certain INTEGER NOT NULL,
    because TEXT NOT NULL,
    stood_before TEXT,
    decided_at TEXT,
    CONSTRAINT pk_copy PRIMARY KEY (id),
    CONSTRAINT ck_copy_state_known CHECK (state IN ('proposed', 'copy', 'apart')),
    CONSTRAINT ck_copy_not_of_itself CHECK (photo_id <> of_photo_id),
    CONSTRAINT ck_copy_certain_yes_no CHECK (certain IN (0, 1)),
    CONSTRAINT fk_copy_photo_id FOREIGN KEY(photo_id) REFERENCES photo (id) ON DELETE CASCADE,
    CONSTRAINT fk_copy_of_photo_id FOREIGN KEY(of_photo_id) REFERENCES photo (id) ON DELETE CASCADE
) STRICT;

CREATE INDEX ix_copy_of_photo_id ON copy (of_photo_id);

CREATE INDEX ix_copy_state ON copy (state);

CREATE UNIQUE INDEX uq_copy_photo_id_of_photo_id ON copy (photo_id, of_photo_id);

CREATE TABLE burst (
    photo_id INTEGER NOT NULL,
    first_photo_id INTEGER NOT NULL,
    said_at TEXT NOT NULL,
    CONSTRAINT pk_burst PRIMARY KEY (photo_id),
    CONSTRAINT fk_burst_photo_id FOREIGN KEY(photo_id) REFERENCES photo (id) ON DELETE CASCADE,
    CONSTRAINT fk_burst_first_photo_id FOREIGN KEY(first_photo_id) REFERENCES photo (id) ON DELETE CASCADE
) STRICT;

CREATE INDEX ix_burst_first_photo_id ON burst (first_photo_id);

CREATE TABLE watched_file (
    path TEXT NOT NULL,
    n_bytes INTEGER NOT NULL,
    modified_ns INTEGER NOT NULL,
    sha256 TEXT,
    photo_id INTEGER,
    refused TEXT,
    seen_at TEXT NOT NULL,
    CONSTRAINT pk_watched_file PRIMARY KEY (path),
    CONSTRAINT ck_watched_file_sha256_whole CHECK (length(sha256) = 64),
    CONSTRAINT ck_watched_file_photo_or_refused CHECK ((photo_id IS NULL) = (refused IS NOT NULL)),
    CONSTRAINT ck_watched_file_photo_has_sha256 CHECK ((photo_id IS NULL) = (sha256 IS NULL)),
    CONSTRAINT fk_watched_file_photo_id FOREIGN KEY(photo_id) REFERENCES photo (id) ON DELETE CASCADE
) STRICT;

CREATE INDEX ix_watched_file_photo_id ON watched_file (photo_id);
