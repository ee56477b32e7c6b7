CREATE TEMP TABLE event_0002 AS SELECT * FROM event;

DROP TABLE event;

CREATE TABLE event (
    id INTEGER NOT NULL,
    kind TEXT NOT NULL,
    on_date TEXT NOT NULL,
    at_time TEXT,
    garden_wide INTEGER NOT NULL,
    place TEXT,
    count INTEGER,
    cause TEXT,
    weight_g REAL,
    other_variety_id INTEGER,
    note TEXT NOT NULL,
    entered_at TEXT NOT NULL,
    struck_out_at TEXT,
    CONSTRAINT pk_event PRIMARY KEY (id),
    CONSTRAINT ck_event_kind_known CHECK (kind IN (
        'chilled', 'sown', 'pricked out', 'potted', 'cuttings taken', 'rooted',
        'planted out', 'stayed in the ground', 'stopped', 'disbudded', 'bud secured',
        'first bloom', 'crossed', 'pod taken', 'first frost', 'cut down', 'lifted',
        'washed', 'dried', 'trimmed', 'treated', 'weighed', 'divided', 'stored', 'checked',
        'lost', 'rogued', 'sported', 'kept', 'another year', 'discarded', 'given away', 'shown', 'renamed',
        'found to be the same as', 'split off'
    )),
    CONSTRAINT ck_event_cause_known CHECK (cause IN (
        'dried out', 'rotted', 'frosted', 'eaten', 'label lost', 'virus', 'gall', 'other'
    )),
    CONSTRAINT ck_event_count_above_none CHECK (count > 0),
    CONSTRAINT ck_event_weight_above_none CHECK (weight_g > 0.0),
    CONSTRAINT ck_event_garden_wide_yes_no CHECK (garden_wide IN (0, 1)),
    CONSTRAINT fk_event_other_variety_id FOREIGN KEY(other_variety_id) REFERENCES variety (id) ON DELETE RESTRICT
) STRICT;

INSERT INTO event SELECT * FROM event_0002;

DROP TABLE event_0002;

CREATE INDEX ix_event_on_date ON event (on_date);

CREATE INDEX ix_event_other_variety_id ON event (other_variety_id);

CREATE TABLE proposal (
    id INTEGER NOT NULL,
    photo_id INTEGER NOT NULL,
    mark INTEGER NOT NULL,
    meant INTEGER NOT NULL,
    state TEXT NOT NULL,
    by_hand INTEGER NOT NULL,
    plant_id INTEGER,
    batch_id INTEGER,
    on_date TEXT,
    at_time TEXT,
    count INTEGER,
    because TEXT NOT NULL,
    against TEXT,
    event_id INTEGER,
    decided_at TEXT,
    CONSTRAINT pk_proposal PRIMARY KEY (id),
    CONSTRAINT ck_proposal_plant_or_batch CHECK (plant_id IS NULL OR batch_id IS NULL),
    CONSTRAINT ck_proposal_state_known CHECK (state IN ('proposed', 'confirmed', 'turned down')),
    CONSTRAINT ck_proposal_confirmed_has_entry CHECK ((state = 'confirmed') = (event_id IS NOT NULL)),
    CONSTRAINT ck_proposal_mark_of_words CHECK (mark BETWEEN 200 AND 259 AND meant BETWEEN 200 AND 259),
    CONSTRAINT ck_proposal_count_above_none CHECK (count > 0),
    CONSTRAINT ck_proposal_by_hand_yes_no CHECK (by_hand IN (0, 1)),
    CONSTRAINT fk_proposal_photo_id FOREIGN KEY(photo_id) REFERENCES photo (id) ON DELETE CASCADE,
    CONSTRAINT fk_proposal_plant_id FOREIGN KEY(plant_id) REFERENCES plant (id) ON DELETE CASCADE,
    CONSTRAINT fk_proposal_batch_id FOREIGN KEY(batch_id) REFERENCES batch (id) ON DELETE CASCADE,
    CONSTRAINT fk_proposal_event_id FOREIGN KEY(event_id) REFERENCES event (id) ON DELETE RESTRICT
) STRICT;

CREATE UNIQUE INDEX uq_proposal_photo_id_mark ON proposal (photo_id, mark);

CREATE INDEX ix_proposal_plant_id ON proposal (plant_id);

CREATE INDEX ix_proposal_batch_id ON proposal (batch_id);

CREATE UNIQUE INDEX uq_proposal_event_id ON proposal (event_id);
