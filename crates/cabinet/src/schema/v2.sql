-- Version 2. Who is due, the list and the search are answered from indices alone, without a look at rows that hold answers
-- and notes (examples/bench measures it).

DROP INDEX clients_by_name;
CREATE INDEX clients_by_name ON clients (folded, id, name, birth, created);

CREATE INDEX clients_by_id ON clients (id, created);

DROP INDEX consents_by_client;
CREATE INDEX consents_by_client ON consents (client, kind, id, given);

DROP INDEX intakes_by_client;
CREATE INDEX intakes_by_client ON intakes (client, id, until);

DROP INDEX weeks_by_client;
CREATE INDEX weeks_by_client ON weeks (client, first, id, days);
