PRAGMA application_id = 1464421959;
BEGIN TRANSACTION;
CREATE TABLE act (
	id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT, 
	step INTEGER NOT NULL, 
	outing_id INTEGER NOT NULL, 
	frame_id INTEGER NOT NULL, 
	subject TEXT NOT NULL, 
	choice TEXT, 
	x_px FLOAT, 
	y_px FLOAT, 
	width_px FLOAT, 
	height_px FLOAT, 
	done_at TEXT NOT NULL, 
	undone_at TEXT, 
	CONSTRAINT ck_act_choice CHECK (choice IS NULL OR choice IN ('keep', 'spare', 'leave')), 
	CONSTRAINT ck_act_subject CHECK (subject IN ('choice', 'box')), 
	CONSTRAINT fk_act_frame_id FOREIGN KEY(frame_id) REFERENCES frame (id) ON DELETE CASCADE, 
	CONSTRAINT fk_act_outing_id FOREIGN KEY(outing_id) REFERENCES outing (id) ON DELETE CASCADE
);
INSERT INTO "act" VALUES(1,1,1,3,'choice','keep',NULL,NULL,NULL,NULL,'2026-11-26T20:30:46.393479+00:00',NULL);
INSERT INTO "act" VALUES(2,2,1,4,'box',NULL,10.0,20.0,300.0,200.0,'2026-11-26T20:30:46.399077+00:00',NULL);
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0007');
CREATE TABLE animal (
	frame_id INTEGER NOT NULL, 
	number INTEGER NOT NULL, 
	track INTEGER NOT NULL, 
	x_px FLOAT NOT NULL, 
	y_px FLOAT NOT NULL, 
	width_px FLOAT NOT NULL, 
	height_px FLOAT NOT NULL, 
	certainty FLOAT NOT NULL, 
	origin TEXT NOT NULL, 
	blur_px FLOAT, 
	blur_low_px FLOAT, 
	blur_high_px FLOAT, 
	blur_minor_px FLOAT, 
	blur_major_px FLOAT, 
	blur_direction_deg FLOAT, 
	blur_kind TEXT, 
	size_in_frame FLOAT, 
	edge_clipped INTEGER NOT NULL, 
	edge_left_px FLOAT, 
	edge_top_px FLOAT, 
	edge_right_px FLOAT, 
	edge_bottom_px FLOAT, 
	highlights_clipped FLOAT, 
	shadows_clipped FLOAT, 
	background_busyness FLOAT, 
	CONSTRAINT pk_animal PRIMARY KEY (frame_id, number), 
	CONSTRAINT fk_animal_frame_id FOREIGN KEY(frame_id) REFERENCES measurement (frame_id) ON DELETE CASCADE
)
 WITHOUT ROWID

;
INSERT INTO "animal" VALUES(1,0,0,100.0,200.0,640.0,320.0,0.875,'found',2.125,1.9125,2.33750000000000035527e+00,1.70000000000000017763e+00,2.55,35.0,'motion',1.2345679012345678327e-01,0,100.0,200.0,4444.0,3368.0,0.01,0.02,0.5);
INSERT INTO "animal" VALUES(2,0,0,100.0,200.0,640.0,320.0,0.875,'found',1.25,1.125,1.375,1.0,1.5,35.0,'motion',1.2345679012345678327e-01,0,100.0,200.0,4444.0,3368.0,0.01,0.02,0.5);
INSERT INTO "animal" VALUES(2,1,1,2000.0,200.0,640.0,320.0,0.875,'found',NULL,NULL,NULL,NULL,NULL,NULL,NULL,1.2345679012345678327e-01,0,2000.0,200.0,2544.0,3368.0,0.01,0.02,0.5);
INSERT INTO "animal" VALUES(3,0,0,100.0,200.0,640.0,320.0,0.875,'found',0.875,0.7875,9.62500000000000133226e-01,7.00000000000000066613e-01,1.05,35.0,'motion',1.2345679012345678327e-01,0,100.0,200.0,4444.0,3368.0,0.01,0.02,0.5);
CREATE TABLE burst (
	id INTEGER NOT NULL, 
	outing_id INTEGER NOT NULL, 
	folder TEXT NOT NULL, 
	name TEXT NOT NULL, 
	taken_at TEXT, 
	CONSTRAINT pk_burst PRIMARY KEY (id), 
	CONSTRAINT fk_burst_outing_id FOREIGN KEY(outing_id) REFERENCES outing (id) ON DELETE CASCADE, 
	CONSTRAINT uq_burst_outing_id_folder_name UNIQUE (outing_id, folder, name)
);
INSERT INTO "burst" VALUES(1,1,'/pictures/reed bank','P00000','2026-06-01T10:00:00+00:00');
CREATE TABLE burst_frame (
	outing_id INTEGER NOT NULL, 
	frame_id INTEGER NOT NULL, 
	burst_id INTEGER NOT NULL, 
	number INTEGER NOT NULL, 
	CONSTRAINT pk_burst_frame PRIMARY KEY (outing_id, frame_id), 
	CONSTRAINT fk_burst_frame_burst_id FOREIGN KEY(burst_id) REFERENCES burst (id) ON DELETE CASCADE, 
	CONSTRAINT fk_burst_frame_frame_id FOREIGN KEY(frame_id) REFERENCES frame (id) ON DELETE CASCADE, 
	CONSTRAINT fk_burst_frame_outing_id FOREIGN KEY(outing_id) REFERENCES outing (id) ON DELETE CASCADE
)
 WITHOUT ROWID

;
INSERT INTO "burst_frame" VALUES(1,1,1,0);
INSERT INTO "burst_frame" VALUES(1,2,1,1);
INSERT INTO "burst_frame" VALUES(1,3,1,2);
INSERT INTO "burst_frame" VALUES(1,4,1,3);
CREATE TABLE burst_look (
	burst_id INTEGER NOT NULL, 
	document TEXT NOT NULL, 
	changed_at TEXT NOT NULL, 
	CONSTRAINT pk_burst_look PRIMARY KEY (burst_id), 
	CONSTRAINT fk_burst_look_burst_id_burst FOREIGN KEY(burst_id) REFERENCES burst (id) ON DELETE CASCADE
);
INSERT INTO "burst_look" VALUES(1,'{"answers": [["abdomen_colour", ["blue", "black"]], ["wings_at_rest", ["closed"]]], "counts_colours": true, "counts_length": false, "ends": [2, 100.5, 200.25, 400.0, 220.0], "frame_id": 2, "group": "damselfly", "most_tilt_deg": 15.0, "region": "britain-and-ireland", "sex": "male"}','2026-11-26T20:30:46.445202+00:00');
CREATE TABLE burst_position (
	burst_id INTEGER NOT NULL, 
	longitude_deg FLOAT NOT NULL, 
	latitude_deg FLOAT NOT NULL, 
	uncertainty_m FLOAT NOT NULL, 
	gap_s FLOAT NOT NULL, 
	track TEXT NOT NULL, 
	placed_at TEXT NOT NULL, 
	CONSTRAINT pk_burst_position PRIMARY KEY (burst_id), 
	CONSTRAINT ck_burst_position_figures CHECK (uncertainty_m > 0 AND gap_s >= 0), 
	CONSTRAINT fk_burst_position_burst_id FOREIGN KEY(burst_id) REFERENCES burst (id) ON DELETE CASCADE
);
INSERT INTO "burst_position" VALUES(1,0.125,52.0,4.90112955387552,7.51559734344482421875e-02,'walk.gpx','2026-11-26T20:30:46.437544+00:00');
CREATE TABLE clock_offset (
	outing_id INTEGER NOT NULL, 
	device TEXT NOT NULL, 
	camera_minus_phone_s FLOAT NOT NULL, 
	low_s FLOAT NOT NULL, 
	high_s FLOAT NOT NULL, 
	found TEXT NOT NULL, 
	n_matched INTEGER NOT NULL, 
	n_taps INTEGER NOT NULL, 
	stored_at TEXT NOT NULL, 
	CONSTRAINT pk_clock_offset PRIMARY KEY (outing_id, device), 
	CONSTRAINT ck_clock_offset_found CHECK (found IN ('estimated', 'by hand')), 
	CONSTRAINT ck_clock_offset_interval CHECK (low_s <= camera_minus_phone_s AND camera_minus_phone_s <= high_s), 
	CONSTRAINT fk_clock_offset_outing_id FOREIGN KEY(outing_id) REFERENCES outing (id) ON DELETE CASCADE
)
 WITHOUT ROWID

;
INSERT INTO "clock_offset" VALUES(1,'0b7c6a3e-5d1f-4c57-9a55-2f8e1c0d4b6a',7200.5,7200.5,7200.5,'by hand',0,0,'2026-11-26T20:30:46.415652+00:00');
CREATE TABLE drawn_box (
	frame_id INTEGER NOT NULL, 
	x_px FLOAT NOT NULL, 
	y_px FLOAT NOT NULL, 
	width_px FLOAT NOT NULL, 
	height_px FLOAT NOT NULL, 
	CONSTRAINT pk_drawn_box PRIMARY KEY (frame_id), 
	CONSTRAINT fk_drawn_box_frame_id FOREIGN KEY(frame_id) REFERENCES frame (id) ON DELETE CASCADE
);
INSERT INTO "drawn_box" VALUES(4,10.0,20.0,300.0,200.0);
CREATE TABLE failure (
	outing_id INTEGER NOT NULL, 
	path TEXT NOT NULL, 
	folder TEXT NOT NULL, 
	reason TEXT NOT NULL, 
	seen_at TEXT NOT NULL, 
	CONSTRAINT pk_failure PRIMARY KEY (outing_id, path), 
	CONSTRAINT fk_failure_outing_id FOREIGN KEY(outing_id) REFERENCES outing (id) ON DELETE CASCADE
)
 WITHOUT ROWID

;
INSERT INTO "failure" VALUES(1,'/pictures/reed bank/P00009.jpg','/pictures/reed bank','the file is empty','2026-11-26T20:30:46.377250+00:00');
CREATE TABLE frame (
	id INTEGER NOT NULL, 
	path TEXT NOT NULL, 
	other_files TEXT NOT NULL, 
	copies TEXT NOT NULL, 
	size_bytes INTEGER, 
	mtime_ns INTEGER, 
	taken_at TEXT, 
	has_subseconds INTEGER NOT NULL, 
	exposure_s FLOAT, 
	f_number FLOAT, 
	iso INTEGER, 
	focal_length_mm FLOAT, 
	focus_distance_m FLOAT, 
	drive_mode TEXT, 
	sequence_number INTEGER, 
	orientation INTEGER NOT NULL, 
	width_px INTEGER, 
	height_px INTEGER, 
	camera TEXT, 
	camera_serial TEXT, 
	lens TEXT, 
	focus_area_px TEXT, 
	latitude_deg FLOAT, 
	longitude_deg FLOAT, 
	altitude_m FLOAT, focus_mode TEXT, 
	CONSTRAINT pk_frame PRIMARY KEY (id), 
	CONSTRAINT uq_frame_path UNIQUE (path)
);
INSERT INTO "frame" VALUES(1,'/pictures/reed bank/P00000.jpg','["/pictures/reed bank/P00000.raw"]','[]',NULL,NULL,'2026-06-01T10:00:00+00:00',1,0.0003125,NULL,800,NULL,NULL,NULL,NULL,1,5184,3888,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO "frame" VALUES(2,'/pictures/reed bank/P00001.jpg','["/pictures/reed bank/P00001.raw"]','[]',NULL,NULL,'2026-06-01T10:00:00.050000+00:00',1,0.0003125,NULL,800,NULL,NULL,NULL,NULL,1,5184,3888,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO "frame" VALUES(3,'/pictures/reed bank/P00002.jpg','["/pictures/reed bank/P00002.raw"]','[]',NULL,NULL,'2026-06-01T10:00:00.100000+00:00',1,0.0003125,NULL,800,NULL,NULL,NULL,NULL,1,5184,3888,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO "frame" VALUES(4,'/pictures/reed bank/P00003.jpg','["/pictures/reed bank/P00003.raw"]','[]',NULL,NULL,'2026-06-01T10:00:00.150000+00:00',1,0.0003125,NULL,800,NULL,NULL,NULL,NULL,1,5184,3888,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
CREATE TABLE kit (
	id INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	name_key TEXT NOT NULL, 
	turn INTEGER NOT NULL, 
	sensor_width_mm FLOAT NOT NULL, 
	sensor_height_mm FLOAT NOT NULL, 
	width_px INTEGER NOT NULL, 
	height_px INTEGER NOT NULL, 
	lowest_iso FLOAT NOT NULL, 
	highest_iso FLOAT NOT NULL, 
	shortest_s FLOAT NOT NULL, 
	longest_s FLOAT NOT NULL, 
	frames_per_s FLOAT NOT NULL, 
	look_back_s FLOAT NOT NULL, 
	readout_s FLOAT NOT NULL, 
	well_e FLOAT, 
	read_noise_e FLOAT NOT NULL, 
	own_blur_px FLOAT NOT NULL, 
	shortest_mm FLOAT NOT NULL, 
	longest_mm FLOAT NOT NULL, 
	widest_at_shortest FLOAT NOT NULL, 
	widest_at_longest FLOAT NOT NULL, 
	narrowest FLOAT NOT NULL, 
	closest_focus_m FLOAT NOT NULL, 
	largest_magnification FLOAT, 
	pupil_ratio FLOAT NOT NULL, 
	teleconverter FLOAT NOT NULL, 
	CONSTRAINT pk_kit PRIMARY KEY (id), 
	CONSTRAINT ck_kit_sensor CHECK (sensor_width_mm > 0 AND sensor_height_mm > 0), 
	CONSTRAINT ck_kit_pixels CHECK (width_px > 0 AND height_px > 0), 
	CONSTRAINT ck_kit_focal_range CHECK (0 < shortest_mm AND shortest_mm <= longest_mm), 
	CONSTRAINT ck_kit_teleconverter CHECK (teleconverter >= 1), 
	CONSTRAINT uq_kit_name_key UNIQUE (name_key), 
	CONSTRAINT uq_kit_turn UNIQUE (turn)
);
INSERT INTO "kit" VALUES(1,'Überall','überall',1,36.0,24.0,6000,4000,200.0,25600.0,0.000125,60.0,18.0,0.0,1.66666666666666664353e-02,NULL,2.6,0.25,50.0,50.0,1.8,1.8,22.0,0.0,NULL,1.0,1.0);
INSERT INTO "kit" VALUES(2,'long lens','long lens',2,17.4,13.0,5184,3888,200.0,25600.0,0.000125,60.0,18.0,0.5,0.0125,25000.0,2.6,0.25,75.0,300.0,4.8,6.7,22.0,1.3,0.25,1.0,1.4);
CREATE TABLE measurement (
	frame_id INTEGER NOT NULL, 
	code_version TEXT NOT NULL, 
	size_bytes INTEGER, 
	mtime_ns INTEGER, 
	width_px INTEGER NOT NULL, 
	height_px INTEGER NOT NULL, 
	from_preview INTEGER NOT NULL, 
	drawn_digest TEXT NOT NULL, 
	measured_at TEXT NOT NULL, slip_x_px FLOAT, slip_y_px FLOAT, slip_sd_px FLOAT, 
	CONSTRAINT pk_measurement PRIMARY KEY (frame_id), 
	CONSTRAINT fk_measurement_frame_id FOREIGN KEY(frame_id) REFERENCES frame (id) ON DELETE CASCADE
);
INSERT INTO "measurement" VALUES(1,'1',NULL,NULL,5184,3888,0,'','2026-11-26T20:30:46.380095+00:00',-12.25,0.5,0.125);
INSERT INTO "measurement" VALUES(2,'1',NULL,NULL,5184,3888,0,'','2026-11-26T20:30:46.380095+00:00',-12.25,0.5,0.125);
INSERT INTO "measurement" VALUES(3,'1',NULL,NULL,5184,3888,0,'','2026-11-26T20:30:46.380095+00:00',-12.25,0.5,0.125);
INSERT INTO "measurement" VALUES(4,'1',NULL,NULL,5184,3888,0,'','2026-11-26T20:30:46.380095+00:00',-12.25,0.5,0.125);
CREATE TABLE moment (
	id TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	at TEXT NOT NULL, 
	device TEXT NOT NULL, 
	changed_at TEXT NOT NULL, 
	animal TEXT NOT NULL, 
	site TEXT NOT NULL, 
	stand TEXT NOT NULL, 
	perch TEXT NOT NULL, 
	note TEXT NOT NULL, 
	until TEXT, 
	undone INTEGER NOT NULL, 
	CONSTRAINT pk_moment PRIMARY KEY (id)
)
 WITHOUT ROWID

;
INSERT INTO "moment" VALUES('16fd2706-8baf-433b-82eb-8c7fada847da','pass','2026-06-01T08:00:00.000Z','0b7c6a3e-5d1f-4c57-9a55-2f8e1c0d4b6a','2026-06-01T08:00:04.321Z','emperor','Weiher','dead willow','','',NULL,1);
INSERT INTO "moment" VALUES('6fa459ea-ee8a-4ca4-894e-db77e160355e','hover','2026-06-01T08:00:00.000Z','0b7c6a3e-5d1f-4c57-9a55-2f8e1c0d4b6a','2026-06-01T08:00:04.321Z','emperor','Weiher','dead willow','reed','against the wind
warm: 24 °C','2026-06-01T08:00:04.250Z',0);
CREATE TABLE outing (
	id INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	folder TEXT NOT NULL, 
	opened_at TEXT NOT NULL, 
	sharp_for TEXT, 
	chosen_at TEXT, 
	CONSTRAINT pk_outing PRIMARY KEY (id), 
	CONSTRAINT uq_outing_name UNIQUE (name)
);
INSERT INTO "outing" VALUES(1,'reed bank','/pictures/reed bank','2026-11-26T20:30:46.368086+00:00','print 30 cm at 240 ppi','2026-11-26T20:30:46.384487+00:00');
CREATE TABLE person_choice (
	frame_id INTEGER NOT NULL, 
	choice TEXT NOT NULL, 
	CONSTRAINT pk_person_choice PRIMARY KEY (frame_id), 
	CONSTRAINT ck_person_choice_choice CHECK (choice IN ('keep', 'spare', 'leave')), 
	CONSTRAINT fk_person_choice_frame_id FOREIGN KEY(frame_id) REFERENCES frame (id) ON DELETE CASCADE
);
INSERT INTO "person_choice" VALUES(3,'keep');
CREATE TABLE proposal (
	outing_id INTEGER NOT NULL, 
	frame_id INTEGER NOT NULL, 
	choice TEXT NOT NULL, 
	reason TEXT NOT NULL, 
	usable_width_px FLOAT, 
	CONSTRAINT pk_proposal PRIMARY KEY (outing_id, frame_id), 
	CONSTRAINT ck_proposal_choice CHECK (choice IN ('keep', 'spare', 'leave')), 
	CONSTRAINT fk_proposal_frame_id FOREIGN KEY(frame_id) REFERENCES frame (id) ON DELETE CASCADE, 
	CONSTRAINT fk_proposal_outing_id FOREIGN KEY(outing_id) REFERENCES outing (id) ON DELETE CASCADE
)
 WITHOUT ROWID

;
INSERT INTO "proposal" VALUES(1,1,'leave','soft: 2.1 px where 0.9 px would do',1400.0);
INSERT INTO "proposal" VALUES(1,2,'spare','second sharpest of 4',2800.0);
INSERT INTO "proposal" VALUES(1,3,'spare','sharpest of 4',3600.0);
INSERT INTO "proposal" VALUES(1,4,'leave','nothing found',NULL);
CREATE TABLE shape (
	frame_id INTEGER NOT NULL, 
	number INTEGER NOT NULL, 
	outline BLOB NOT NULL, 
	focus_map BLOB, cutout BLOB, 
	CONSTRAINT pk_shape PRIMARY KEY (frame_id, number), 
	CONSTRAINT fk_shape_frame_id_number FOREIGN KEY(frame_id, number) REFERENCES animal (frame_id, number) ON DELETE CASCADE
);
INSERT INTO "shape" VALUES(1,0,X'0000C84200804843000039440020B4430000D24300000244',X'00000000000059400000000000006940000000000000844000000000000074400200000003000000003D003E0040004100440048',X'00000000000012400000000000105A400000000000008A406173204A504547');
INSERT INTO "shape" VALUES(2,0,X'0000C84200804843000039440020B4430000D24300000244',X'00000000000059400000000000006940000000000000844000000000000074400200000003000000003D003E0040004100440048',X'00000000000012400000000000105A400000000000008A406173204A504547');
INSERT INTO "shape" VALUES(2,1,X'0000FA4400804843000025450020B4430000114500000244',X'0000000000409F400000000000006940000000000000844000000000000074400200000003000000003D003E0040004100440048',X'00000000000012400000000000105A400000000000008A406173204A504547');
INSERT INTO "shape" VALUES(3,0,X'0000C84200804843000039440020B4430000D24300000244',X'00000000000059400000000000006940000000000000844000000000000074400200000003000000003D003E0040004100440048',X'00000000000012400000000000105A400000000000008A406173204A504547');
CREATE TABLE sidecar_write (
	id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT, 
	step INTEGER NOT NULL, 
	outing_id INTEGER NOT NULL, 
	path TEXT NOT NULL, 
	"before" BLOB, 
	after_sha256 TEXT NOT NULL, 
	rating TEXT, 
	written_at TEXT NOT NULL, 
	undone_at TEXT, position TEXT, 
	CONSTRAINT fk_sidecar_write_outing_id FOREIGN KEY(outing_id) REFERENCES outing (id) ON DELETE CASCADE
);
INSERT INTO "sidecar_write" VALUES(1,1,1,'/pictures/reed bank/P00002.xmp',X'789CB3A9D0B7030002F80122','0000000000000000000000000000000000000000000000000000000000000000','4','2026-11-26T20:30:46.400714+00:00',NULL,'52,0.0000N 0,7.5000E');
CREATE TABLE sighting_burst (
	version_id INTEGER NOT NULL, 
	burst_id INTEGER NOT NULL, 
	CONSTRAINT pk_sighting_burst PRIMARY KEY (version_id, burst_id), 
	CONSTRAINT fk_sighting_burst_version_id_sighting_version FOREIGN KEY(version_id) REFERENCES sighting_version (id) ON DELETE CASCADE, 
	CONSTRAINT fk_sighting_burst_burst_id_burst FOREIGN KEY(burst_id) REFERENCES burst (id) ON DELETE CASCADE
)
 WITHOUT ROWID

;
INSERT INTO "sighting_burst" VALUES(1,1);
CREATE TABLE sighting_version (
	id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT, 
	step INTEGER NOT NULL, 
	sighting_id TEXT NOT NULL, 
	outing_id INTEGER, 
	document TEXT, 
	stored_at TEXT NOT NULL, 
	undone_at TEXT, 
	CONSTRAINT fk_sighting_version_outing_id_outing FOREIGN KEY(outing_id) REFERENCES outing (id) ON DELETE SET NULL
);
INSERT INTO "sighting_version" VALUES(1,1,'3f2504e0-4f89-41d3-9a0c-0305e82c3301',1,'{"basis": "HumanObservation", "count": 2, "doing": ["tandem", "egg laying"], "establishment": "native", "generalized": "told as a square", "id": "3f2504e0-4f89-41d3-9a0c-0305e82c3301", "identified_by": ["C. Known"], "licence": "https://creativecommons.org/publicdomain/zero/1.0/", "name_as_written": "blue damselfly", "others": [["fieldNumber", "7"], ["habitat", "pond"]], "pictures": ["P00001.jpg"], "qualifier": "cf. puella", "recorded_by": ["A. Nother", "B. Else"], "remarks": "at the reed, 24 °C", "scientific_name": "Coenagrion puella", "sensitive": true, "sexes": ["male", "female"], "stage": "adult", "verification": "verified", "when": "2026-06-01/2026-06-02", "where": {"latitude": 52.0005, "longitude": 0.1005, "name": "Weiher", "precision_deg": 0.0001, "uncertainty_m": 12.5}, "withheld": "the exact place"}','2026-11-26T20:30:46.441898+00:00',NULL);
CREATE TABLE site (
	id INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	name_key TEXT NOT NULL, 
	zone TEXT NOT NULL, 
	elevation_m FLOAT NOT NULL, 
	document TEXT NOT NULL, 
	added_at TEXT NOT NULL, 
	changed_at TEXT NOT NULL, 
	CONSTRAINT pk_site PRIMARY KEY (id), 
	CONSTRAINT uq_site_name_key UNIQUE (name_key)
);
INSERT INTO "site" VALUES(1,'Weiher','weiher','Europe/Berlin',35.0,'{
 "type": "FeatureCollection",
 "name": "Weiher",
 "features": [
  {
   "type": "Feature",
   "geometry": {
    "type": "Polygon",
    "coordinates": [
     [
      [
       0.1,
       52.0
      ],
      [
       0.101,
       52.0
      ],
      [
       0.101,
       52.001
      ],
      [
       0.1,
       52.001
      ],
      [
       0.1,
       52.0
      ]
     ]
    ]
   },
   "properties": {
    "kind": "water"
   }
  },
  {
   "type": "Feature",
   "geometry": {
    "type": "Point",
    "coordinates": [
     0.1005,
     51.9999
    ]
   },
   "properties": {
    "kind": "stand",
    "name": "dead willow",
    "faces_deg": 0.0,
    "reach_deg": [
     [
      300.0,
      60.0
     ]
    ],
    "above_water_m": 0.4
   }
  },
  {
   "type": "Feature",
   "geometry": {
    "type": "Point",
    "coordinates": [
     0.1002,
     52.0001
    ]
   },
   "properties": {
    "kind": "perch",
    "name": "reed",
    "above_water_m": 0.3
   }
  },
  {
   "type": "Feature",
   "geometry": {
    "type": "Point",
    "coordinates": [
     0.1005,
     52.000500001
    ]
   },
   "properties": {
    "kind": "horizon",
    "entries": [
     {
      "bearing_deg": 90.0,
      "altitude_deg": 12.5,
      "distance_m": 80.0
     },
     {
      "bearing_deg": 270.0,
      "altitude_deg": 3.0
     }
    ]
   }
  }
 ]
}
','2026-11-26T20:30:46+00:00','2026-11-26T20:30:46+00:00');
CREATE TABLE typed_condition (
	outing_id INTEGER NOT NULL, 
	burst_id INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	value TEXT NOT NULL, 
	typed_at TEXT NOT NULL, 
	CONSTRAINT pk_typed_condition PRIMARY KEY (outing_id, burst_id, name), 
	CONSTRAINT fk_typed_condition_outing_id_outing FOREIGN KEY(outing_id) REFERENCES outing (id) ON DELETE CASCADE
)
 WITHOUT ROWID

;
INSERT INTO "typed_condition" VALUES(1,0,'support','tripod','2026-11-26T20:30:46.446369+00:00');
CREATE INDEX ix_act_standing_by_frame ON act (frame_id, subject, id) WHERE undone_at IS NULL;
CREATE INDEX ix_act_standing_by_outing ON act (outing_id, id) WHERE undone_at IS NULL;
CREATE INDEX ix_act_step ON act (step);
CREATE INDEX ix_burst_outing_id_taken_at_id ON burst (outing_id, taken_at, id);
CREATE INDEX ix_proposal_frame_id ON proposal (frame_id);
CREATE INDEX ix_proposal_outing_id_choice_frame_id ON proposal (outing_id, choice, frame_id);
CREATE INDEX ix_sidecar_write_outing_id_step ON sidecar_write (outing_id, step);
CREATE INDEX ix_sidecar_write_path_id ON sidecar_write (path, id);
CREATE INDEX ix_burst_frame_burst_id_number_frame_id ON burst_frame (burst_id, number, frame_id);
CREATE INDEX ix_burst_frame_frame_id ON burst_frame (frame_id);
CREATE INDEX ix_moment_at_id ON moment (at, id);
CREATE INDEX ix_sighting_version_sighting_id_id ON sighting_version (sighting_id, id);
CREATE INDEX ix_sighting_version_outing_id_id ON sighting_version (outing_id, id);
CREATE INDEX ix_sighting_version_step ON sighting_version (step);
CREATE INDEX ix_sighting_burst_burst_id ON sighting_burst (burst_id);
DELETE FROM "sqlite_sequence";
INSERT INTO "sqlite_sequence" VALUES('act',2);
INSERT INTO "sqlite_sequence" VALUES('sidecar_write',1);
INSERT INTO "sqlite_sequence" VALUES('sighting_version',1);
COMMIT;
