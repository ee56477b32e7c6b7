CREATE TABLE box (
    id INTEGER NOT NULL,
    number INTEGER NOT NULL,
    name TEXT NOT NULL,
    since TEXT NOT NULL,
    note TEXT NOT NULL,
    CONSTRAINT pk_box PRIMARY KEY (id),
    CONSTRAINT ck_box_number_1_to_399 CHECK (number BETWEEN 1 AND 399),
    CONSTRAINT uq_box_number UNIQUE (number)
) STRICT;

CREATE TABLE photo_box (
    id INTEGER NOT NULL,
    photo_id INTEGER NOT NULL,
    box_id INTEGER NOT NULL,
    reason TEXT NOT NULL,
    because TEXT NOT NULL,
    probability REAL NOT NULL,
    by_hand INTEGER NOT NULL,
    matched_at TEXT NOT NULL,
    CONSTRAINT pk_photo_box PRIMARY KEY (id),
    CONSTRAINT ck_photo_box_probability_0_to_1 CHECK (probability BETWEEN 0.0 AND 1.0),
    CONSTRAINT ck_photo_box_by_hand_yes_no CHECK (by_hand IN (0, 1)),
    CONSTRAINT fk_photo_box_photo_id FOREIGN KEY(photo_id) REFERENCES photo (id) ON DELETE CASCADE,
    CONSTRAINT fk_photo_box_box_id FOREIGN KEY(box_id) REFERENCES box (id) ON DELETE RESTRICT
) STRICT;

CREATE INDEX ix_photo_box_box_id ON photo_box (box_id);

CREATE UNIQUE INDEX uq_photo_box ON photo_box (photo_id, box_id);

CREATE TABLE decision (
    id INTEGER NOT NULL,
    decided_at TEXT NOT NULL,
    said TEXT NOT NULL,
    CONSTRAINT pk_decision PRIMARY KEY (id)
) STRICT;

CREATE TABLE decided_photo (
    id INTEGER NOT NULL,
    decision_id INTEGER NOT NULL,
    photo_id INTEGER NOT NULL,
    plant_id INTEGER,
    batch_id INTEGER,
    box_id INTEGER,
    told_day INTEGER NOT NULL,
    taken_back_at TEXT,
    CONSTRAINT pk_decided_photo PRIMARY KEY (id),
    CONSTRAINT ck_decided_photo_one_thing CHECK ((plant_id IS NOT NULL) + (batch_id IS NOT NULL) + (box_id IS NOT NULL) <= 1),
    CONSTRAINT ck_decided_photo_told_day_yes_no CHECK (told_day IN (0, 1)),
    CONSTRAINT fk_decided_photo_decision_id FOREIGN KEY(decision_id) REFERENCES decision (id) ON DELETE CASCADE,
    CONSTRAINT fk_decided_photo_photo_id FOREIGN KEY(photo_id) REFERENCES photo (id) ON DELETE CASCADE,
    CONSTRAINT fk_decided_photo_plant_id FOREIGN KEY(plant_id) REFERENCES plant (id) ON DELETE CASCADE,
    CONSTRAINT fk_decided_photo_batch_id FOREIGN KEY(batch_id) REFERENCES batch (id) ON DELETE CASCADE,
    CONSTRAINT fk_decided_photo_box_id FOREIGN KEY(box_id) REFERENCES box (id) ON DELETE CASCADE
) STRICT;

CREATE INDEX ix_decided_photo_batch_id ON decided_photo (batch_id);

CREATE INDEX ix_decided_photo_box_id ON decided_photo (box_id);

CREATE INDEX ix_decided_photo_decision_id ON decided_photo (decision_id);

CREATE INDEX ix_decided_photo_photo_id ON decided_photo (photo_id);

CREATE INDEX ix_decided_photo_plant_id ON decided_photo (plant_id);

INSERT INTO decision (id, decided_at, said)
SELECT photo.id, coalesce(max(photo_subject.matched_at), photo.taken_in_at), 'Photo ' || photo.id
FROM photo LEFT JOIN photo_subject ON photo_subject.photo_id = photo.id
WHERE photo.match_by_hand GROUP BY photo.id ORDER BY 2, 1;

INSERT INTO decided_photo (decision_id, photo_id, plant_id, batch_id, told_day)
SELECT photo.id, photo.id, photo_subject.plant_id, photo_subject.batch_id,
    photo.taken_at IS NULL AND photo.told_on IS NOT NULL
FROM photo LEFT JOIN photo_subject ON photo_subject.photo_id = photo.id
WHERE photo.match_by_hand ORDER BY photo.id, photo_subject.id;

CREATE TEMP TABLE proposal_0005 AS SELECT * FROM proposal;

DROP TABLE proposal;

CREATE TABLE proposal (
    id INTEGER NOT NULL,
    photo_id INTEGER NOT NULL,
    mark INTEGER NOT NULL,
    meant INTEGER NOT NULL,
    state TEXT NOT NULL,
    by_hand INTEGER NOT NULL,
    plant_id INTEGER,
    batch_id INTEGER,
    box_id INTEGER,
    on_date TEXT,
    at_time TEXT,
    count INTEGER,
    because TEXT NOT NULL,
    against TEXT,
    event_id INTEGER,
    decided_at TEXT,
    CONSTRAINT pk_proposal PRIMARY KEY (id),
    CONSTRAINT ck_proposal_one_thing CHECK ((plant_id IS NOT NULL) + (batch_id IS NOT NULL) + (box_id IS NOT NULL) <= 1),
    CONSTRAINT ck_proposal_state_known CHECK (state IN ('proposed', 'confirmed', 'turned down')),
    CONSTRAINT ck_proposal_confirmed_has_entry CHECK ((state = 'confirmed') = (event_id IS NOT NULL)),
    CONSTRAINT ck_proposal_mark_of_words CHECK (mark BETWEEN 200 AND 259 AND meant BETWEEN 200 AND 259),
    CONSTRAINT ck_proposal_count_above_none CHECK (count > 0),
    CONSTRAINT ck_proposal_by_hand_yes_no CHECK (by_hand IN (0, 1)),
    CONSTRAINT fk_proposal_photo_id FOREIGN KEY(photo_id) REFERENCES photo (id) ON DELETE CASCADE,
    CONSTRAINT fk_proposal_plant_id FOREIGN KEY(plant_id) REFERENCES plant (id) ON DELETE CASCADE,
    CONSTRAINT fk_proposal_batch_id FOREIGN KEY(batch_id) REFERENCES batch (id) ON DELETE CASCADE,
    CONSTRAINT fk_proposal_box_id FOREIGN KEY(box_id) REFERENCES box (id) ON DELETE CASCADE,
    CONSTRAINT fk_proposal_event_id FOREIGN KEY(event_id) REFERENCES event (id) ON DELETE RESTRICT
) STRICT;

INSERT INTO proposal (id, photo_id, mark, meant, state, by_hand, plant_id, batch_id, on_date, at_time, count, because,
    against, event_id, decided_at)
SELECT id, photo_id, mark, meant, state, by_hand, plant_id, batch_id, on_date, at_time, count, because,
    against, event_id, decided_at FROM proposal_0005;

DROP TABLE proposal_0005;

CREATE INDEX ix_proposal_batch_id ON proposal (batch_id);

CREATE INDEX ix_proposal_box_id ON proposal (box_id);

CREATE INDEX ix_proposal_plant_id ON proposal (plant_id);

CREATE UNIQUE INDEX uq_proposal_event_id ON proposal (event_id);

CREATE UNIQUE INDEX uq_proposal_photo_id_mark ON proposal (photo_id, mark);
