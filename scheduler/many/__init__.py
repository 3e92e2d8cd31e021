"""Many holdings in one run: the same job for each, on all cores or on a cluster, and an overview.

Decided here: a job answers, whatever happens in it; its answer is small, and holds no plan.
"""

from scheduler.many.cluster import ClusterError, outcomes_on_cluster
from scheduler.many.overview import write_overview
from scheduler.many.site_job import SiteJob, SiteOutcome, sites_in
from scheduler.many.workers import outcomes_here
