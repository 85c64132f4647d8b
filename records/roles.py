"""The names of the database's roles: migrations grant to them, deployment makes them."""

OWNER = "stationbook_owner"  # owns the database and its tables; runs migrations
LOGIN = "stationbook_login"  # what web and worker log in as; owns nothing
OFFICE = "stationbook_office"  # the contractor's people
CLIENT = "stationbook_client"  # the client's people
WORKER = "stationbook_worker"  # background tasks
QUEUE = "stationbook_queue"  # owns the queue's schema; has nothing on the book's tables
BACKUP = "stationbook_backup"  # reads every row, past the policies; nothing that serves knows it

ASSUMED = (OFFICE, CLIENT, WORKER)  # what the log-in role may become, one per transaction
WITH_PASSWORD = (OWNER, LOGIN, QUEUE)
ALL = (*WITH_PASSWORD, *ASSUMED)
