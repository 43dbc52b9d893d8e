-- A stock file of version 2, as that version wrote it.
PRAGMA application_id = 1279607108;
PRAGMA user_version = 2;
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
INSERT INTO "done" VALUES(1,'Rdone','folded','IT-A1-1',1,'2026-11-02T08:00:00+00:00','');
INSERT INTO "done" VALUES(2,'Rdone','folded','IT-K1',12,'2026-11-02T08:00:00+00:00','');
INSERT INTO "done" VALUES(3,'Rdone','packed','IT-K1',5,'2026-11-02T08:00:00+00:00','');
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
INSERT INTO "item" VALUES(1,'roll',4,450.0,6000.0,55107000000,180000000,'rack 2','B7',1,'',1);
INSERT INTO "item" VALUES(2,'roll',4,450.0,6000.0,55107000000,180000000,'rack 2','B7',1,'Ropen',0);
INSERT INTO "item" VALUES(3,'roll',4,450.0,6000.0,55107000000,180000000,'rack 2','B7',1,'',0);
INSERT INTO "item" VALUES(4,'part roll',4,600.0,4000.0,48984000000,NULL,'','',0,'',0);
INSERT INTO "item" VALUES(5,'part roll',4,450.0,4000.0,36738000000,120000000,'rack 2','B7',1,'',0);
INSERT INTO "item" VALUES(6,'offcut',4,200.0,500.0,2041000000,6666667,'rack 2','B7',1,'',1);
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
INSERT INTO "movement" VALUES(4,'add','2026-11-02T08:00:00+00:00','','');
INSERT INTO "movement" VALUES(5,'reserve','2026-11-02T08:00:00+00:00','Rdone','');
INSERT INTO "movement" VALUES(6,'commit','2026-11-02T08:00:00+00:00','Rdone','code4-01');
INSERT INTO "movement" VALUES(7,'reserve','2026-11-02T08:00:00+00:00','Ropen','');
INSERT INTO "movement" VALUES(8,'collect','2026-11-02T08:00:00+00:00','','skip 3');
INSERT INTO "movement" VALUES(9,'take','2026-11-02T08:00:00+00:00','','');
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
INSERT INTO "posting" VALUES(4,'bought',4,-48984000000,0,NULL);
INSERT INTO "posting" VALUES(4,'shelf',4,48984000000,0,4);
INSERT INTO "posting" VALUES(5,'shelf',4,0,0,1);
INSERT INTO "posting" VALUES(6,'shelf',4,-55107000000,-180000000,1);
INSERT INTO "posting" VALUES(6,'shelf',4,36738000000,120000000,5);
INSERT INTO "posting" VALUES(6,'shelf',4,2041000000,6666667,6);
INSERT INTO "posting" VALUES(6,'pieces',4,14695200000,48000000,NULL);
INSERT INTO "posting" VALUES(6,'scrap pile',4,1632800000,5333333,NULL);
INSERT INTO "posting" VALUES(7,'shelf',4,0,0,2);
INSERT INTO "posting" VALUES(8,'scrap pile',4,-1632800000,-5333333,NULL);
INSERT INTO "posting" VALUES(8,'collected',4,1632800000,5333333,NULL);
INSERT INTO "posting" VALUES(9,'shelf',4,-2041000000,-6666667,6);
INSERT INTO "posting" VALUES(9,'scrap pile',4,2041000000,6666667,NULL);
CREATE TABLE run (
            id TEXT PRIMARY KEY,
            state TEXT NOT NULL,
            at TEXT NOT NULL,
            out TEXT NOT NULL,
            plan TEXT NOT NULL
        ) STRICT;
INSERT INTO "run" VALUES('Rdone','committed','2026-11-02T08:00:00+00:00','/no/such/folder','{"jobs": ["Invented terrace"], "replaces": "", "cuts": [{"sheet": "code4-01", "item": 1, "code": 4, "mass_kg_m2": 20.41, "width_mm": 450.0, "length_mm": 6000.0, "drawn_mm": 2000.0, "pieces_mm2": 720000.0, "kept_mm": [[500.0, 200.0]], "rest_kept": true}], "parts": [{"id": "IT-A1-1", "quantity": 1, "job": "Invented terrace", "sheets": ["code4-01"]}, {"id": "IT-K1", "quantity": 12, "job": "Invented terrace", "sheets": ["code4-01"]}]}');
INSERT INTO "run" VALUES('Ropen','reserved','2026-11-02T08:00:00+00:00','/no/such/other','{"jobs": ["Invented terrace"], "replaces": "", "cuts": [{"sheet": "code4-01", "item": 2, "code": 4, "mass_kg_m2": 20.41, "width_mm": 450.0, "length_mm": 6000.0, "drawn_mm": 1000.0, "pieces_mm2": 360000.0, "kept_mm": [], "rest_kept": true}], "parts": [{"id": "IT-A1-1", "quantity": 1, "job": "Invented terrace", "sheets": ["code4-01"]}, {"id": "IT-K1", "quantity": 12, "job": "Invented terrace", "sheets": ["code4-01"]}]}');
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
