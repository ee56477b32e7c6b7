CREATE TABLE variety (
    id INTEGER NOT NULL,
    name TEXT NOT NULL,
    name_key TEXT NOT NULL,
    kind TEXT NOT NULL,
    raiser_number TEXT,
    form TEXT,
    note TEXT NOT NULL,
    CONSTRAINT pk_variety PRIMARY KEY (id),
    CONSTRAINT ck_variety_kind_known CHECK (kind IN ('named', 'seedling')),
    CONSTRAINT ck_variety_seedling_has_number CHECK (kind = 'named' OR raiser_number IS NOT NULL),
    CONSTRAINT ck_variety_name_given CHECK (name <> ''),
    CONSTRAINT uq_variety_name_key UNIQUE (name_key)
) STRICT;

CREATE TABLE camera (
    id INTEGER NOT NULL,
    make TEXT NOT NULL,
    model TEXT NOT NULL,
    serial TEXT NOT NULL,
    CONSTRAINT pk_camera PRIMARY KEY (id),
    CONSTRAINT uq_camera_make_model_serial UNIQUE (make, model, serial)
) STRICT;

CREATE TABLE printing (
    id INTEGER NOT NULL,
    design TEXT NOT NULL,
    read_on TEXT NOT NULL,
    in_use_since TEXT NOT NULL,
    across_mm REAL NOT NULL,
    along_mm REAL NOT NULL,
    note TEXT NOT NULL,
    entered_at TEXT NOT NULL,
    CONSTRAINT pk_printing PRIMARY KEY (id),
    CONSTRAINT ck_printing_across_near_100 CHECK (across_mm BETWEEN 80.0 AND 120.0),
    CONSTRAINT ck_printing_along_near_100 CHECK (along_mm BETWEEN 80.0 AND 120.0)
) STRICT;

CREATE INDEX ix_printing_design_in_use_since ON printing (design, in_use_since);

CREATE TABLE setting (
    name TEXT NOT NULL,
    value TEXT NOT NULL,
    CONSTRAINT pk_setting PRIMARY KEY (name)
) STRICT;

CREATE TABLE tag (
    id INTEGER NOT NULL,
    number INTEGER NOT NULL,
    CONSTRAINT pk_tag PRIMARY KEY (id),
    CONSTRAINT ck_tag_number_1_to_9999 CHECK (number BETWEEN 1 AND 9999),
    CONSTRAINT uq_tag_number UNIQUE (number)
) STRICT;

CREATE TABLE variety_name (
    id INTEGER NOT NULL,
    variety_id INTEGER NOT NULL,
    name TEXT NOT NULL,
    name_key TEXT NOT NULL,
    from_date TEXT,
    CONSTRAINT pk_variety_name PRIMARY KEY (id),
    CONSTRAINT fk_variety_name_variety_id FOREIGN KEY(variety_id) REFERENCES variety (id) ON DELETE CASCADE
) STRICT;

CREATE INDEX ix_variety_name_name_key ON variety_name (name_key);

CREATE INDEX ix_variety_name_variety_id ON variety_name (variety_id);

CREATE TABLE clock_correction (
    id INTEGER NOT NULL,
    camera_id INTEGER NOT NULL,
    from_moment TEXT NOT NULL,
    add_seconds INTEGER NOT NULL,
    note TEXT NOT NULL,
    CONSTRAINT pk_clock_correction PRIMARY KEY (id),
    CONSTRAINT uq_clock_correction_camera_id_from_moment UNIQUE (camera_id, from_moment),
    CONSTRAINT fk_clock_correction_camera_id FOREIGN KEY(camera_id) REFERENCES camera (id) ON DELETE CASCADE
) STRICT;

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
        'lost', 'rogued', 'sported', 'discarded', 'given away', 'shown', 'renamed',
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

CREATE INDEX ix_event_on_date ON event (on_date);

CREATE INDEX ix_event_other_variety_id ON event (other_variety_id);

CREATE TABLE photo (
    id INTEGER NOT NULL,
    sha256 TEXT NOT NULL,
    content_sha256 TEXT NOT NULL,
    original_name TEXT NOT NULL,
    file_kind TEXT NOT NULL,
    n_bytes INTEGER NOT NULL,
    width_px INTEGER NOT NULL,
    height_px INTEGER NOT NULL,
    taken_at TEXT,
    taken_offset TEXT,
    taken_subsec TEXT,
    date_problem TEXT,
    told_on TEXT,
    file_modified_at TEXT,
    camera_id INTEGER,
    focal35_mm REAL,
    exif_width_px INTEGER,
    exif_height_px INTEGER,
    digital_zoom REAL,
    taken_in_at TEXT NOT NULL,
    marks TEXT,
    marks_read_by TEXT,
    subject TEXT NOT NULL,
    subject_by_hand INTEGER NOT NULL,
    held TEXT,
    match_state TEXT NOT NULL,
    match_by_hand INTEGER NOT NULL,
    waiting_because TEXT,
    CONSTRAINT pk_photo PRIMARY KEY (id),
    CONSTRAINT ck_photo_subject_known CHECK (subject IN (
        'bloom face', 'bloom side', 'clump', 'seeds', 'whole plant', 'group', 'tags',
        'unknown'
    )),
    CONSTRAINT ck_photo_match_state_known CHECK (match_state IN (
        'matched', 'waiting', 'no plant'
    )),
    CONSTRAINT ck_photo_sha256_whole CHECK (length(sha256) = 64),
    CONSTRAINT ck_photo_content_sha256_whole CHECK (length(content_sha256) = 64),
    CONSTRAINT ck_photo_has_pixels CHECK (width_px > 0 AND height_px > 0),
    CONSTRAINT ck_photo_has_bytes CHECK (n_bytes > 0),
    CONSTRAINT ck_photo_held_known CHECK (held IN ('level', 'behind', 'bench')),
    CONSTRAINT ck_photo_subject_by_hand_yes_no CHECK (subject_by_hand IN (0, 1)),
    CONSTRAINT ck_photo_match_by_hand_yes_no CHECK (match_by_hand IN (0, 1)),
    CONSTRAINT uq_photo_sha256 UNIQUE (sha256),
    CONSTRAINT fk_photo_camera_id FOREIGN KEY(camera_id) REFERENCES camera (id) ON DELETE RESTRICT
) STRICT;

CREATE INDEX ix_photo_camera_id_taken_at ON photo (camera_id, taken_at);

CREATE INDEX ix_photo_content_sha256 ON photo (content_sha256);

CREATE INDEX ix_photo_match_state ON photo (match_state);

CREATE INDEX ix_photo_taken_at ON photo (taken_at);

CREATE TABLE plant (
    id INTEGER NOT NULL,
    variety_id INTEGER NOT NULL,
    since TEXT NOT NULL,
    came_from TEXT NOT NULL,
    parent_plant_id INTEGER,
    parent_batch_id INTEGER,
    note TEXT NOT NULL,
    CONSTRAINT pk_plant PRIMARY KEY (id),
    CONSTRAINT ck_plant_came_from_known CHECK (came_from IN (
        'bought', 'division of', 'cutting of', 'seed of a cross', 'pot tuber',
        'stayed in the ground'
    )),
    CONSTRAINT ck_plant_one_parent CHECK (parent_plant_id IS NULL OR parent_batch_id IS NULL),
    CONSTRAINT ck_plant_not_own_parent CHECK (parent_plant_id <> id),
    CONSTRAINT fk_plant_variety_id FOREIGN KEY(variety_id) REFERENCES variety (id) ON DELETE RESTRICT,
    CONSTRAINT fk_plant_parent_plant_id FOREIGN KEY(parent_plant_id) REFERENCES plant (id) ON DELETE RESTRICT,
    CONSTRAINT fk_plant_parent_batch_id FOREIGN KEY(parent_batch_id) REFERENCES batch (id) ON DELETE RESTRICT
) STRICT;

CREATE INDEX ix_plant_parent_batch_id ON plant (parent_batch_id);

CREATE INDEX ix_plant_parent_plant_id ON plant (parent_plant_id);

CREATE INDEX ix_plant_variety_id ON plant (variety_id);

CREATE TABLE batch (
    id INTEGER NOT NULL,
    variety_id INTEGER NOT NULL,
    kind TEXT NOT NULL,
    count INTEGER NOT NULL,
    since TEXT NOT NULL,
    came_from TEXT NOT NULL,
    parent_plant_id INTEGER,
    parent_batch_id INTEGER,
    note TEXT NOT NULL,
    CONSTRAINT pk_batch PRIMARY KEY (id),
    CONSTRAINT ck_batch_kind_known CHECK (kind IN (
        'pot tubers', 'cuttings', 'seedlings', 'single tubers'
    )),
    CONSTRAINT ck_batch_came_from_known CHECK (came_from IN (
        'bought', 'division of', 'cutting of', 'seed of a cross', 'pot tuber',
        'stayed in the ground'
    )),
    CONSTRAINT ck_batch_count_above_none CHECK (count > 0),
    CONSTRAINT ck_batch_one_parent CHECK (parent_plant_id IS NULL OR parent_batch_id IS NULL),
    CONSTRAINT ck_batch_not_own_parent CHECK (parent_batch_id <> id),
    CONSTRAINT fk_batch_variety_id FOREIGN KEY(variety_id) REFERENCES variety (id) ON DELETE RESTRICT,
    CONSTRAINT fk_batch_parent_plant_id FOREIGN KEY(parent_plant_id) REFERENCES plant (id) ON DELETE RESTRICT,
    CONSTRAINT fk_batch_parent_batch_id FOREIGN KEY(parent_batch_id) REFERENCES batch (id) ON DELETE RESTRICT
) STRICT;

CREATE INDEX ix_batch_parent_batch_id ON batch (parent_batch_id);

CREATE INDEX ix_batch_parent_plant_id ON batch (parent_plant_id);

CREATE INDEX ix_batch_variety_id ON batch (variety_id);

CREATE TABLE measurement (
    id INTEGER NOT NULL,
    photo_id INTEGER NOT NULL,
    measured_of TEXT NOT NULL,
    status TEXT NOT NULL,
    refusal TEXT,
    reason TEXT,
    remedy TEXT,
    made_by TEXT NOT NULL,
    made_at TEXT NOT NULL,
    card_design TEXT,
    printing_id INTEGER,
    card_corners INTEGER,
    card_residual_px REAL,
    tilt_deg REAL,
    distance_mm REAL,
    lift_mm REAL,
    lift_u_mm REAL,
    settings TEXT NOT NULL,
    flags TEXT NOT NULL,
    outline TEXT,
    outline_confidence REAL,
    edge_sigma_px REAL,
    callipers TEXT,
    mm_per_px REAL,
    acceptance TEXT NOT NULL,
    decided_at TEXT,
    CONSTRAINT pk_measurement PRIMARY KEY (id),
    CONSTRAINT ck_measurement_measured_of_known CHECK (measured_of IN (
        'bloom', 'bloom-side', 'clump', 'seeds'
    )),
    CONSTRAINT ck_measurement_status_known CHECK (status IN ('measured', 'refused')),
    CONSTRAINT ck_measurement_acceptance_known CHECK (acceptance IN (
        'proposed', 'accepted', 'turned down'
    )),
    CONSTRAINT ck_measurement_outline_confidence_0_to_1 CHECK (outline_confidence BETWEEN 0.0 AND 1.0),
    CONSTRAINT ck_measurement_refused_has_reason CHECK ((status = 'refused') = (reason IS NOT NULL)),
    CONSTRAINT ck_measurement_measured_has_scale CHECK (status = 'refused' OR mm_per_px > 0.0),
    CONSTRAINT ck_measurement_none_accepted CHECK (status = 'measured' OR acceptance <> 'accepted'),
    CONSTRAINT ck_measurement_lift_u_not_negative CHECK (lift_u_mm >= 0.0),
    CONSTRAINT fk_measurement_photo_id FOREIGN KEY(photo_id) REFERENCES photo (id) ON DELETE CASCADE,
    CONSTRAINT fk_measurement_printing_id FOREIGN KEY(printing_id) REFERENCES printing (id) ON DELETE RESTRICT
) STRICT;

CREATE INDEX ix_measurement_photo_id ON measurement (photo_id);

CREATE INDEX ix_measurement_printing_id ON measurement (printing_id);

CREATE UNIQUE INDEX uq_measurement_one_accepted ON measurement (photo_id, measured_of) WHERE acceptance = 'accepted';

CREATE TRIGGER measurement_kept BEFORE UPDATE OF
id, photo_id, measured_of, status, refusal, reason, remedy, made_by, made_at, card_design,
printing_id, card_corners, card_residual_px, tilt_deg, distance_mm, lift_mm, lift_u_mm, settings,
flags, outline, outline_confidence, edge_sigma_px, callipers, mm_per_px
ON measurement
BEGIN SELECT RAISE(ABORT, 'a measurement is added, never overwritten'); END;

CREATE TABLE batch_change (
    id INTEGER NOT NULL,
    batch_id INTEGER NOT NULL,
    on_date TEXT NOT NULL,
    fewer INTEGER NOT NULL,
    event_id INTEGER,
    plant_id INTEGER,
    into_batch_id INTEGER,
    CONSTRAINT pk_batch_change PRIMARY KEY (id),
    CONSTRAINT ck_batch_change_fewer_above_none CHECK (fewer > 0),
    CONSTRAINT ck_batch_change_plant_is_one CHECK (plant_id IS NULL OR fewer = 1),
    CONSTRAINT ck_batch_change_not_into_itself CHECK (into_batch_id <> batch_id),
    CONSTRAINT ck_batch_change_one_event_id_plant_id_into_batch_id CHECK ((event_id IS NOT NULL) + (plant_id IS NOT NULL) + (into_batch_id IS NOT NULL) = 1),
    CONSTRAINT fk_batch_change_batch_id FOREIGN KEY(batch_id) REFERENCES batch (id) ON DELETE CASCADE,
    CONSTRAINT fk_batch_change_event_id FOREIGN KEY(event_id) REFERENCES event (id) ON DELETE CASCADE,
    CONSTRAINT fk_batch_change_plant_id FOREIGN KEY(plant_id) REFERENCES plant (id) ON DELETE CASCADE,
    CONSTRAINT fk_batch_change_into_batch_id FOREIGN KEY(into_batch_id) REFERENCES batch (id) ON DELETE CASCADE
) STRICT;

CREATE INDEX ix_batch_change_batch_id ON batch_change (batch_id);

CREATE INDEX ix_batch_change_event_id ON batch_change (event_id);

CREATE INDEX ix_batch_change_into_batch_id ON batch_change (into_batch_id);

CREATE INDEX ix_batch_change_plant_id ON batch_change (plant_id);

CREATE TABLE event_subject (
    id INTEGER NOT NULL,
    event_id INTEGER NOT NULL,
    plant_id INTEGER,
    batch_id INTEGER,
    variety_id INTEGER,
    CONSTRAINT pk_event_subject PRIMARY KEY (id),
    CONSTRAINT ck_event_subject_one_plant_id_batch_id_variety_id CHECK ((plant_id IS NOT NULL) + (batch_id IS NOT NULL) + (variety_id IS NOT NULL) = 1),
    CONSTRAINT fk_event_subject_event_id FOREIGN KEY(event_id) REFERENCES event (id) ON DELETE CASCADE,
    CONSTRAINT fk_event_subject_plant_id FOREIGN KEY(plant_id) REFERENCES plant (id) ON DELETE CASCADE,
    CONSTRAINT fk_event_subject_batch_id FOREIGN KEY(batch_id) REFERENCES batch (id) ON DELETE CASCADE,
    CONSTRAINT fk_event_subject_variety_id FOREIGN KEY(variety_id) REFERENCES variety (id) ON DELETE CASCADE
) STRICT;

CREATE INDEX ix_event_subject_batch_id ON event_subject (batch_id);

CREATE INDEX ix_event_subject_plant_id ON event_subject (plant_id);

CREATE INDEX ix_event_subject_variety_id ON event_subject (variety_id);

CREATE UNIQUE INDEX uq_event_subject_batch ON event_subject (event_id, batch_id);

CREATE UNIQUE INDEX uq_event_subject_plant ON event_subject (event_id, plant_id);

CREATE UNIQUE INDEX uq_event_subject_variety ON event_subject (event_id, variety_id);

CREATE TABLE how_grown (
    id INTEGER NOT NULL,
    plant_id INTEGER,
    batch_id INTEGER,
    season INTEGER NOT NULL,
    disbudded INTEGER,
    stopped_on TEXT,
    stems INTEGER,
    grown_from TEXT,
    CONSTRAINT pk_how_grown PRIMARY KEY (id),
    CONSTRAINT ck_how_grown_one_plant_id_batch_id CHECK ((plant_id IS NOT NULL) + (batch_id IS NOT NULL) = 1),
    CONSTRAINT ck_how_grown_grown_from_known CHECK (grown_from IN (
        'a bought plant', 'a cutting', 'seed', 'a pot tuber', 'a division',
        'its own clump', 'stayed in the ground'
    )),
    CONSTRAINT ck_how_grown_stems_above_none CHECK (stems > 0),
    CONSTRAINT ck_how_grown_disbudded_yes_no CHECK (disbudded IN (0, 1)),
    CONSTRAINT fk_how_grown_plant_id FOREIGN KEY(plant_id) REFERENCES plant (id) ON DELETE CASCADE,
    CONSTRAINT fk_how_grown_batch_id FOREIGN KEY(batch_id) REFERENCES batch (id) ON DELETE CASCADE
) STRICT;

CREATE UNIQUE INDEX uq_how_grown_batch ON how_grown (batch_id, season);

CREATE UNIQUE INDEX uq_how_grown_plant ON how_grown (plant_id, season);

CREATE TABLE size (
    id INTEGER NOT NULL,
    measurement_id INTEGER NOT NULL,
    name TEXT NOT NULL,
    value REAL NOT NULL,
    u REAL,
    low REAL,
    high REAL,
    components TEXT NOT NULL,
    CONSTRAINT pk_size PRIMARY KEY (id),
    CONSTRAINT ck_size_u_not_negative CHECK (u >= 0.0),
    CONSTRAINT ck_size_low_to_high CHECK (low <= high),
    CONSTRAINT fk_size_measurement_id FOREIGN KEY(measurement_id) REFERENCES measurement (id) ON DELETE CASCADE
) STRICT;

CREATE UNIQUE INDEX uq_size_measurement_id_name ON size (measurement_id, name);

CREATE TRIGGER size_kept BEFORE UPDATE ON size
BEGIN SELECT RAISE(ABORT, 'a size is added, never overwritten'); END;

CREATE TABLE photo_subject (
    id INTEGER NOT NULL,
    photo_id INTEGER NOT NULL,
    plant_id INTEGER,
    batch_id INTEGER,
    reason TEXT NOT NULL,
    because TEXT NOT NULL,
    probability REAL NOT NULL,
    by_hand INTEGER NOT NULL,
    stage TEXT,
    matched_at TEXT NOT NULL,
    CONSTRAINT pk_photo_subject PRIMARY KEY (id),
    CONSTRAINT ck_photo_subject_one_plant_id_batch_id CHECK ((plant_id IS NOT NULL) + (batch_id IS NOT NULL) = 1),
    CONSTRAINT ck_photo_subject_probability_0_to_1 CHECK (probability BETWEEN 0.0 AND 1.0),
    CONSTRAINT ck_photo_subject_stage_known CHECK (stage IN (
        'opening', 'at its best', 'going over', 'as lifted', 'washed', 'trimmed', 'dried'
    )),
    CONSTRAINT ck_photo_subject_by_hand_yes_no CHECK (by_hand IN (0, 1)),
    CONSTRAINT fk_photo_subject_photo_id FOREIGN KEY(photo_id) REFERENCES photo (id) ON DELETE CASCADE,
    CONSTRAINT fk_photo_subject_plant_id FOREIGN KEY(plant_id) REFERENCES plant (id) ON DELETE RESTRICT,
    CONSTRAINT fk_photo_subject_batch_id FOREIGN KEY(batch_id) REFERENCES batch (id) ON DELETE RESTRICT
) STRICT;

CREATE INDEX ix_photo_subject_batch_id ON photo_subject (batch_id);

CREATE INDEX ix_photo_subject_plant_id ON photo_subject (plant_id);

CREATE UNIQUE INDEX uq_photo_subject_batch ON photo_subject (photo_id, batch_id);

CREATE UNIQUE INDEX uq_photo_subject_plant ON photo_subject (photo_id, plant_id);

CREATE TABLE candidate (
    id INTEGER NOT NULL,
    photo_id INTEGER NOT NULL,
    plant_id INTEGER,
    batch_id INTEGER,
    reason TEXT NOT NULL,
    because TEXT NOT NULL,
    probability REAL NOT NULL,
    CONSTRAINT pk_candidate PRIMARY KEY (id),
    CONSTRAINT ck_candidate_one_plant_id_batch_id CHECK ((plant_id IS NOT NULL) + (batch_id IS NOT NULL) = 1),
    CONSTRAINT ck_candidate_probability_0_to_1 CHECK (probability BETWEEN 0.0 AND 1.0),
    CONSTRAINT fk_candidate_photo_id FOREIGN KEY(photo_id) REFERENCES photo (id) ON DELETE CASCADE,
    CONSTRAINT fk_candidate_plant_id FOREIGN KEY(plant_id) REFERENCES plant (id) ON DELETE CASCADE,
    CONSTRAINT fk_candidate_batch_id FOREIGN KEY(batch_id) REFERENCES batch (id) ON DELETE CASCADE
) STRICT;

CREATE INDEX ix_candidate_batch_id ON candidate (batch_id);

CREATE INDEX ix_candidate_photo_id ON candidate (photo_id);

CREATE INDEX ix_candidate_plant_id ON candidate (plant_id);

CREATE TABLE tag_holding (
    id INTEGER NOT NULL,
    tag_id INTEGER NOT NULL,
    plant_id INTEGER,
    batch_id INTEGER,
    from_date TEXT NOT NULL,
    until_date TEXT,
    CONSTRAINT pk_tag_holding PRIMARY KEY (id),
    CONSTRAINT ck_tag_holding_one_plant_id_batch_id CHECK ((plant_id IS NOT NULL) + (batch_id IS NOT NULL) = 1),
    CONSTRAINT ck_tag_holding_until_after_from CHECK (until_date >= from_date),
    CONSTRAINT fk_tag_holding_tag_id FOREIGN KEY(tag_id) REFERENCES tag (id) ON DELETE RESTRICT,
    CONSTRAINT fk_tag_holding_plant_id FOREIGN KEY(plant_id) REFERENCES plant (id) ON DELETE CASCADE,
    CONSTRAINT fk_tag_holding_batch_id FOREIGN KEY(batch_id) REFERENCES batch (id) ON DELETE CASCADE
) STRICT;

CREATE INDEX ix_tag_holding_batch_id ON tag_holding (batch_id);

CREATE INDEX ix_tag_holding_plant_id ON tag_holding (plant_id);

CREATE INDEX ix_tag_holding_tag_id_from_date ON tag_holding (tag_id, from_date);

CREATE UNIQUE INDEX uq_tag_holding_one_now ON tag_holding (tag_id) WHERE until_date IS NULL;
