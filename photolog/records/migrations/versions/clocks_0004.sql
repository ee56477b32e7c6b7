CREATE TEMP TABLE camera_0003 AS SELECT * FROM camera;

CREATE TEMP TABLE clock_correction_0003 AS SELECT * FROM clock_correction;

DROP TABLE clock_correction;

DROP TABLE camera;

CREATE TABLE camera (
    id INTEGER NOT NULL,
    make TEXT NOT NULL,
    model TEXT NOT NULL,
    serial TEXT NOT NULL,
    part TEXT NOT NULL,
    CONSTRAINT pk_camera PRIMARY KEY (id),
    CONSTRAINT uq_camera_make_model_serial_part UNIQUE (make, model, serial, part)
) STRICT;

INSERT INTO camera SELECT id, make, model, serial, '' FROM camera_0003;

DROP TABLE camera_0003;

CREATE TABLE clock_correction (
    id INTEGER NOT NULL,
    camera_id INTEGER NOT NULL,
    from_moment TEXT NOT NULL,
    until_moment TEXT,
    counted_as TEXT,
    first_number INTEGER,
    last_number INTEGER,
    add_seconds INTEGER NOT NULL,
    note TEXT NOT NULL,
    CONSTRAINT pk_clock_correction PRIMARY KEY (id),
    CONSTRAINT ck_clock_correction_until_after_from CHECK (until_moment > from_moment),
    CONSTRAINT ck_clock_correction_counted_whole CHECK ((counted_as IS NULL) = (first_number IS NULL) AND (first_number IS NULL) = (last_number IS NULL)),
    CONSTRAINT fk_clock_correction_camera_id FOREIGN KEY(camera_id) REFERENCES camera (id) ON DELETE CASCADE
) STRICT;

INSERT INTO clock_correction (id, camera_id, from_moment, add_seconds, note)
    SELECT id, camera_id, from_moment, add_seconds, note FROM clock_correction_0003;

DROP TABLE clock_correction_0003;

CREATE INDEX ix_clock_correction_camera_id_from_moment ON clock_correction (camera_id, from_moment);

CREATE UNIQUE INDEX uq_clock_correction_of_all ON clock_correction (camera_id, from_moment) WHERE first_number IS NULL;

CREATE TABLE clock_proposal (
    id INTEGER NOT NULL,
    camera_id INTEGER NOT NULL,
    kind TEXT NOT NULL,
    from_moment TEXT NOT NULL,
    until_moment TEXT,
    counted_as TEXT,
    first_number INTEGER,
    last_number INTEGER,
    add_seconds INTEGER NOT NULL,
    because TEXT NOT NULL,
    state TEXT NOT NULL,
    correction_id INTEGER,
    decided_at TEXT,
    CONSTRAINT pk_clock_proposal PRIMARY KEY (id),
    CONSTRAINT ck_clock_proposal_kind_known CHECK (kind IN ('other camera', 'another zone', 'summer time', 'first day')),
    CONSTRAINT ck_clock_proposal_state_known CHECK (state IN ('proposed', 'confirmed', 'turned down')),
    CONSTRAINT ck_clock_proposal_until_after_from CHECK (until_moment > from_moment),
    CONSTRAINT ck_clock_proposal_counted_whole CHECK ((counted_as IS NULL) = (first_number IS NULL) AND (first_number IS NULL) = (last_number IS NULL)),
    CONSTRAINT fk_clock_proposal_camera_id FOREIGN KEY(camera_id) REFERENCES camera (id) ON DELETE CASCADE,
    CONSTRAINT fk_clock_proposal_correction_id FOREIGN KEY(correction_id) REFERENCES clock_correction (id) ON DELETE SET NULL
) STRICT;

CREATE INDEX ix_clock_proposal_camera_id ON clock_proposal (camera_id);

CREATE INDEX ix_clock_proposal_correction_id ON clock_proposal (correction_id);

CREATE TABLE day_told (
    id INTEGER NOT NULL,
    photo_id INTEGER NOT NULL,
    place INTEGER NOT NULL,
    told_at TEXT NOT NULL,
    CONSTRAINT pk_day_told PRIMARY KEY (id),
    CONSTRAINT uq_day_told_photo_id UNIQUE (photo_id),
    CONSTRAINT fk_day_told_photo_id FOREIGN KEY(photo_id) REFERENCES photo (id) ON DELETE CASCADE
) STRICT;
