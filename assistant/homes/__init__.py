"""Many homes: who has which plan and records, and the desk's own book. Start reading at homes.py.

    homes.py               what every service of homes promises; open_homes
    folder.py              a folder of households, for a few; the desk's book in SQLite
    sign_ins.py            who is signed in at the desk, and wrong tries, in either database
    postgres.py            a service's database, for many (the extra `postgres`)
    postgres_store.py      one home's records in it
    postgres_link.py       connections, transactions, and every failure in our words
    postgres_watch.py      an end to waiting for a database that says nothing
    postgres_schema.py     its tables, hash-partitioned by home, and how older ones are brought up to date
"""
