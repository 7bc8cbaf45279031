"""Celery's configuration: the filesystem under VAR_DIR by default, Redis where REDIS_URL is set.

Job rows are the truth (`jobs/queue.py`); messages are nudges. Hence no results, late
acknowledgement, and messages that expire instead of piling up while no worker runs.
"""

from django.conf import settings

task_time_limit = settings.JOBS_TIME_LIMIT
task_ignore_result = True
task_acks_late = True
task_reject_on_worker_lost = True
task_publish_retry = False  # a request never waits for a broker that is down
worker_prefetch_multiplier = 1
worker_enable_remote_control = False
worker_send_task_events = False
worker_hijack_root_logger = False
broker_connection_retry_on_startup = True
enable_utc = True

if settings.REDIS_URL:
    broker_url = settings.REDIS_URL
    broker_transport_options = {
        "global_keyprefix": f"{settings.REDIS_PREFIX}:",
        # Shorter than a task could run, a task would be handed out again and again.
        "visibility_timeout": 3 * settings.JOBS_TIME_LIMIT,
        # Without these a killed worker's messages come back only after about 100 seconds.
        "unacked_restore_interval": 5,
        "unacked_restore_throttle": 1,
        "socket_connect_timeout": 3,
        "socket_timeout": 10,
    }
else:
    _folder = settings.VAR_DIR / "broker"
    for _name in ("messages", "control"):
        (_folder / _name).mkdir(parents=True, exist_ok=True)
    broker_url = "filesystem://localhost"
    broker_transport = "config.messages:Transport"
    broker_transport_options = {
        "data_folder_in": str(_folder / "messages"),
        "data_folder_out": str(_folder / "messages"),
        "control_folder": str(_folder / "control"),
        "polling_interval": 0.1,
    }
