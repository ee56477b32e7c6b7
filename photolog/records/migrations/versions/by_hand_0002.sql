CREATE TEMP TABLE measurement_0001 AS SELECT * FROM measurement;

DROP TABLE measurement;

CREATE TABLE measurement (
    id INTEGER NOT NULL,
    photo_id INTEGER NOT NULL,
    measured_of TEXT NOT NULL,
    status TEXT NOT NULL,
    how_made TEXT NOT NULL,
    read_on TEXT,
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
    colours TEXT,
    acceptance TEXT NOT NULL,
    decided_at TEXT,
    CONSTRAINT pk_measurement PRIMARY KEY (id),
    CONSTRAINT ck_measurement_measured_of_known CHECK (measured_of IN (
        'bloom', 'bloom-side', 'clump', 'seeds'
    )),
    CONSTRAINT ck_measurement_status_known CHECK (status IN ('measured', 'refused')),
    CONSTRAINT ck_measurement_how_made_known CHECK (how_made IN (
        'measured', 'outline by hand', 'callipers by hand', 'tape or ring'
    )),
    CONSTRAINT ck_measurement_acceptance_known CHECK (acceptance IN (
        'proposed', 'accepted', 'corrected', 'turned down'
    )),
    CONSTRAINT ck_measurement_outline_confidence_0_to_1 CHECK (outline_confidence BETWEEN 0.0 AND 1.0),
    CONSTRAINT ck_measurement_refused_has_reason CHECK ((status = 'refused') = (reason IS NOT NULL)),
    CONSTRAINT ck_measurement_measured_has_scale CHECK (status = 'refused' OR mm_per_px > 0.0),
    CONSTRAINT ck_measurement_read_off_has_day CHECK ((how_made = 'tape or ring') = (read_on IS NOT NULL)),
    CONSTRAINT ck_measurement_by_hand_measured CHECK (status = 'measured' OR how_made = 'measured'),
    CONSTRAINT ck_measurement_none_accepted CHECK (status = 'measured' OR acceptance <> 'accepted'),
    CONSTRAINT ck_measurement_lift_u_not_negative CHECK (lift_u_mm >= 0.0),
    CONSTRAINT fk_measurement_photo_id FOREIGN KEY(photo_id) REFERENCES photo (id) ON DELETE CASCADE,
    CONSTRAINT fk_measurement_printing_id FOREIGN KEY(printing_id) REFERENCES printing (id) ON DELETE RESTRICT
) STRICT;

INSERT INTO measurement (
    id, photo_id, measured_of, status, refusal, reason, remedy, made_by, made_at, card_design,
    printing_id, card_corners, card_residual_px, tilt_deg, distance_mm, lift_mm, lift_u_mm,
    settings, flags, outline, outline_confidence, edge_sigma_px, callipers, mm_per_px,
    acceptance, decided_at,
    how_made
)
SELECT
    id, photo_id, measured_of, status, refusal, reason, remedy, made_by, made_at, card_design,
    printing_id, card_corners, card_residual_px, tilt_deg, distance_mm, lift_mm, lift_u_mm,
    settings, flags, outline, outline_confidence, edge_sigma_px, callipers, mm_per_px,
    acceptance, decided_at,
    'measured'
FROM measurement_0001;

DROP TABLE measurement_0001;

CREATE INDEX ix_measurement_photo_id ON measurement (photo_id);

CREATE INDEX ix_measurement_printing_id ON measurement (printing_id);

CREATE UNIQUE INDEX uq_measurement_one_accepted ON measurement (photo_id, measured_of) WHERE acceptance = 'accepted';

CREATE TRIGGER measurement_kept BEFORE UPDATE OF
id, photo_id, measured_of, status, how_made, read_on, refusal, reason, remedy, made_by, made_at,
card_design, printing_id, card_corners, card_residual_px, tilt_deg, distance_mm, lift_mm, lift_u_mm,
settings, flags, outline, outline_confidence, edge_sigma_px, callipers, mm_per_px, colours
ON measurement
BEGIN SELECT RAISE(ABORT, 'a measurement is added, never overwritten'); END;
