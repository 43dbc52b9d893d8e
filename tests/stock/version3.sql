-- A stock file of version 3, as that version wrote it.
PRAGMA application_id = 1279607108;
PRAGMA user_version = 3;
BEGIN TRANSACTION;
CREATE TABLE done (
            number INTEGER PRIMARY KEY,
            run TEXT NOT NULL REFERENCES run (id),
            stage TEXT NOT NULL,
            thing TEXT NOT NULL,
            count INTEGER NOT NULL CHECK (count >= 0),
            at TEXT NOT NULL,
            note TEXT NOT NULL
        ) STRICT;
INSERT INTO "done" VALUES(1,'Rdone','folded','IT-A1',2,'2026-11-02T08:00:00+00:00','');
INSERT INTO "done" VALUES(2,'Rdone','folded','IT-K1',10,'2026-11-02T08:00:00+00:00','');
CREATE TABLE item (
            number INTEGER PRIMARY KEY,
            kind TEXT NOT NULL,
            code INTEGER NOT NULL,
            width_mm REAL NOT NULL CHECK (width_mm > 0),
            length_mm REAL NOT NULL CHECK (length_mm > 0),
            mass_ug INTEGER NOT NULL CHECK (mass_ug >= 0),
            cost_u INTEGER CHECK (cost_u >= 0),
            place TEXT NOT NULL,
            batch TEXT NOT NULL,
            exact INTEGER NOT NULL,
            run TEXT NOT NULL,
            gone INTEGER NOT NULL DEFAULT 0,
            CHECK (run = '' OR NOT gone)
        ) STRICT;
INSERT INTO "item" VALUES(1,'roll',4,450.0,6000.0,55107000000,180000000,'','',1,'',1);
INSERT INTO "item" VALUES(2,'roll',4,450.0,6000.0,55107000000,180000000,'','',1,'',1);
INSERT INTO "item" VALUES(3,'roll',4,450.0,6000.0,55107000000,180000000,'','',1,'Ropen',0);
INSERT INTO "item" VALUES(4,'roll',4,450.0,6000.0,55107000000,180000000,'','',1,'Ropen',0);
INSERT INTO "item" VALUES(5,'roll',4,300.0,6000.0,36738000000,NULL,'','',0,'',1);
INSERT INTO "item" VALUES(6,'part roll',4,450.0,4000.0,36738000000,120000000,'','',1,'',0);
INSERT INTO "item" VALUES(7,'offcut',4,200.0,400.0,1632800000,5333333,'','',1,'',0);
INSERT INTO "item" VALUES(8,'part roll',4,450.0,5100.0,46840950000,153000000,'','',1,'',0);
INSERT INTO "item" VALUES(9,'part roll',4,300.0,3300.0,20205900000,NULL,'','',1,'',0);
CREATE TABLE movement (
            number INTEGER PRIMARY KEY,
            verb TEXT NOT NULL,
            at TEXT NOT NULL,
            run TEXT NOT NULL,
            note TEXT NOT NULL
        ) STRICT;
INSERT INTO "movement" VALUES(1,'add','2026-11-02T08:00:00+00:00','','first delivery');
INSERT INTO "movement" VALUES(2,'add','2026-11-02T08:00:00+00:00','','first delivery');
INSERT INTO "movement" VALUES(3,'add','2026-11-02T08:00:00+00:00','','first delivery');
INSERT INTO "movement" VALUES(4,'add','2026-11-02T08:00:00+00:00','','first delivery');
INSERT INTO "movement" VALUES(5,'add','2026-11-02T08:00:00+00:00','','first delivery');
INSERT INTO "movement" VALUES(6,'reserve','2026-11-02T08:00:00+00:00','Rdone','');
INSERT INTO "movement" VALUES(7,'commit','2026-11-02T08:00:00+00:00','Rdone','code4-01');
INSERT INTO "movement" VALUES(8,'reserve','2026-11-02T08:00:00+00:00','Ragain','');
INSERT INTO "movement" VALUES(9,'commit','2026-11-02T08:00:00+00:00','Ragain','code4-01');
INSERT INTO "movement" VALUES(10,'spoil','2026-11-02T08:00:00+00:00','Rdone','2 x IT-K1, cut once more by Ragain');
INSERT INTO "movement" VALUES(11,'reserve','2026-11-02T08:00:00+00:00','Ropen','');
INSERT INTO "movement" VALUES(12,'take','2026-11-02T08:00:00+00:00','','');
INSERT INTO "movement" VALUES(13,'collect','2026-11-02T08:00:00+00:00','','');
INSERT INTO "movement" VALUES(14,'adjust','2026-11-02T08:00:00+00:00','','');
CREATE TABLE posting (
            movement INTEGER NOT NULL REFERENCES movement (number),
            account TEXT NOT NULL,
            code INTEGER NOT NULL,
            mass_ug INTEGER NOT NULL,
            cost_u INTEGER NOT NULL,
            item INTEGER REFERENCES item (number)
        ) STRICT;
INSERT INTO "posting" VALUES(1,'bought',4,-55107000000,-180000000,NULL);
INSERT INTO "posting" VALUES(1,'shelf',4,55107000000,180000000,1);
INSERT INTO "posting" VALUES(2,'bought',4,-55107000000,-180000000,NULL);
INSERT INTO "posting" VALUES(2,'shelf',4,55107000000,180000000,2);
INSERT INTO "posting" VALUES(3,'bought',4,-55107000000,-180000000,NULL);
INSERT INTO "posting" VALUES(3,'shelf',4,55107000000,180000000,3);
INSERT INTO "posting" VALUES(4,'bought',4,-55107000000,-180000000,NULL);
INSERT INTO "posting" VALUES(4,'shelf',4,55107000000,180000000,4);
INSERT INTO "posting" VALUES(5,'bought',4,-36738000000,0,NULL);
INSERT INTO "posting" VALUES(5,'shelf',4,36738000000,0,5);
INSERT INTO "posting" VALUES(6,'shelf',4,0,0,1);
INSERT INTO "posting" VALUES(7,'shelf',4,-55107000000,-180000000,1);
INSERT INTO "posting" VALUES(7,'shelf',4,36738000000,120000000,6);
INSERT INTO "posting" VALUES(7,'shelf',4,1632800000,5333333,7);
INSERT INTO "posting" VALUES(7,'pieces',4,14695200000,48000000,NULL);
INSERT INTO "posting" VALUES(7,'scrap pile',4,2041000000,6666667,NULL);
INSERT INTO "posting" VALUES(8,'shelf',4,0,0,2);
INSERT INTO "posting" VALUES(9,'shelf',4,-55107000000,-180000000,2);
INSERT INTO "posting" VALUES(9,'shelf',4,46840950000,153000000,8);
INSERT INTO "posting" VALUES(9,'pieces',4,6612840000,21600000,NULL);
INSERT INTO "posting" VALUES(9,'scrap pile',4,1653210000,5400000,NULL);
INSERT INTO "posting" VALUES(10,'pieces',4,-40820000,-133333,NULL);
INSERT INTO "posting" VALUES(10,'scrap pile',4,40820000,133333,NULL);
INSERT INTO "posting" VALUES(11,'shelf',4,0,0,3);
INSERT INTO "posting" VALUES(11,'shelf',4,0,0,4);
INSERT INTO "posting" VALUES(12,'shelf',4,-36738000000,0,5);
INSERT INTO "posting" VALUES(12,'shelf',4,30615000000,0,9);
INSERT INTO "posting" VALUES(12,'scrap pile',4,6123000000,0,NULL);
INSERT INTO "posting" VALUES(13,'scrap pile',4,-9858030000,-12200000,NULL);
INSERT INTO "posting" VALUES(13,'collected',4,9000000000,12200000,NULL);
INSERT INTO "posting" VALUES(13,'weighed otherwise',4,858030000,0,NULL);
INSERT INTO "posting" VALUES(14,'shelf',4,-10409100000,0,9);
INSERT INTO "posting" VALUES(14,'measured anew',4,10409100000,0,NULL);
CREATE TABLE run (
            id TEXT PRIMARY KEY,
            state TEXT NOT NULL,
            at TEXT NOT NULL,
            out TEXT NOT NULL,
            plan TEXT NOT NULL
        ) STRICT;
INSERT INTO "run" VALUES('Rdone','committed','2026-11-02T08:00:00+00:00','/no/such/folder','{"jobs": ["Invented terrace"], "replaces": "", "cuts": [{"sheet": "code4-01", "item": 1, "code": 4, "mass_kg_m2": 20.41, "width_mm": 450.0, "length_mm": 6000.0, "drawn_mm": 2000.0, "pieces_mm2": 720000.0, "kept_mm": [[400.0, 200.0]], "rest_kept": true, "keep_mm": [300.0, 150.0]}], "parts": [{"id": "IT-A1", "quantity": 2, "job": "Invented terrace", "sheets": ["code4-01"], "spoilt": 0}, {"id": "IT-K1", "quantity": 12, "job": "Invented terrace", "sheets": ["code4-01"], "spoilt": 2}], "spoilt": []}');
INSERT INTO "run" VALUES('Ragain','committed','2026-11-02T08:00:00+00:00','/no/such/folder','{"jobs": ["Invented terrace"], "replaces": "", "cuts": [{"sheet": "code4-01", "item": 2, "code": 4, "mass_kg_m2": 20.41, "width_mm": 450.0, "length_mm": 6000.0, "drawn_mm": 900.0, "pieces_mm2": 324000.0, "kept_mm": [], "rest_kept": true, "keep_mm": [300.0, 150.0]}], "parts": [], "spoilt": [{"run": "Rdone", "piece": "IT-K1", "count": 2, "code": 4, "mass_kg_m2": 20.41, "each_mm2": 1000.0}]}');
INSERT INTO "run" VALUES('Ropen','reserved','2026-11-02T08:00:00+00:00','/no/such/folder','{"jobs": ["Invented terrace"], "replaces": "", "cuts": [{"sheet": "code4-01", "item": 3, "code": 4, "mass_kg_m2": 20.41, "width_mm": 450.0, "length_mm": 6000.0, "drawn_mm": 2500.0, "pieces_mm2": 900000.0, "kept_mm": [], "rest_kept": true, "keep_mm": [300.0, 150.0]}, {"sheet": "code4-02", "item": 4, "code": 4, "mass_kg_m2": 20.41, "width_mm": 450.0, "length_mm": 6000.0, "drawn_mm": 6000.0, "pieces_mm2": 2160000.0, "kept_mm": [], "rest_kept": false, "keep_mm": [300.0, 150.0]}], "parts": [{"id": "IT-B1", "quantity": 1, "job": "Invented terrace", "sheets": ["code4-01"], "spoilt": 0}], "spoilt": []}');
CREATE INDEX item_there ON item (gone);
CREATE INDEX posting_item ON posting (item);
CREATE INDEX posting_movement ON posting (movement);
CREATE TRIGGER item_stays BEFORE DELETE ON item BEGIN SELECT RAISE(ABORT, 'items are kept'); END;
CREATE TRIGGER movement_stays BEFORE DELETE ON movement BEGIN SELECT RAISE(ABORT, 'movements are kept'); END;
CREATE TRIGGER movement_as_is BEFORE UPDATE ON movement BEGIN SELECT RAISE(ABORT, 'movements are kept'); END;
CREATE TRIGGER posting_stays BEFORE DELETE ON posting BEGIN SELECT RAISE(ABORT, 'postings are kept'); END;
CREATE TRIGGER posting_as_is BEFORE UPDATE ON posting BEGIN SELECT RAISE(ABORT, 'postings are kept'); END;
CREATE INDEX done_run ON done (run);
CREATE TRIGGER done_stays BEFORE DELETE ON done BEGIN SELECT RAISE(ABORT, 'what was done is kept'); END;
CREATE TRIGGER done_as_is BEFORE UPDATE ON done BEGIN SELECT RAISE(ABORT, 'what was done is kept'); END;
COMMIT;
