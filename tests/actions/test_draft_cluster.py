"""A draft read on a cluster: a scheduler and two workers of this machine, as Dask distributed starts them."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from takeoff import actions
from takeoff.actions.draft.making import make_draft
from takeoff.actions.draft.sheet_reads import Cluster
from takeoff.errors import InputError
from takeoff.job.store import JobStore
from tests.jobs import DONE, PLANS, job_on

pytestmark = pytest.mark.filterwarnings("ignore")  # a worker that is killed leaves sockets open in the library


def opened(path: Path) -> JobStore:
    plan = PLANS / "facility-set.pdf"
    return job_on(path, plan)


@pytest.mark.long
def test_a_worker_that_is_killed_in_mid_work_loses_nothing_and_the_totals_are_the_same_to_the_last_digit(tmp_path):
    from distributed import Client, LocalCluster

    killed: list[int] = []
    with (
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        Client(cluster, set_as_default=False) as client,
        opened(tmp_path / "one.takeoff") as one,
        opened(tmp_path / "many.takeoff") as many,
    ):
        pids = client.run(os.getpid)

        def kill_one(_: float) -> None:
            busy = [worker for worker, keys in client.processing().items() if keys]
            if not killed and busy:
                killed.append(pids[busy[0]])
                os.kill(killed[0], signal.SIGKILL)

        far = make_draft(many, readers=Cluster(cluster.scheduler_address), progress=kill_one)
        here = make_draft(one)
        assert killed
        assert [sheet.fault for sheet in far.sheets] == [""] * 8
        assert many.job == one.job
        assert far.priced.estimate == here.priced.estimate


def test_where_all_workers_die_what_was_read_is_kept_and_the_rest_is_told_until_there_are_workers(
    tmp_path, monkeypatch
):
    from distributed import Client, LocalCluster

    monkeypatch.setattr("takeoff.actions.draft.sheet_reads.PATIENCE", 2)
    with (
        LocalCluster(n_workers=0, dashboard_address=None) as cluster,
        Client(cluster, set_as_default=False) as client,
        opened(tmp_path / "d.takeoff") as store,
        contextlib.ExitStack() as ended,
    ):
        # without a nanny each: nobody starts them again
        alone = ["--no-nanny", "--nthreads", "1", "--no-dashboard", "--local-directory", str(tmp_path)]
        command = [sys.executable, "-m", "distributed.cli.dask_worker", cluster.scheduler_address, *alone]
        workers = [ended.enter_context(subprocess.Popen(command, stderr=subprocess.DEVNULL)) for _ in range(2)]
        client.wait_for_workers(2)

        def kill_all(_: float) -> None:
            for worker in workers:
                worker.kill()

        ended.callback(kill_all, 0.0)
        draft = make_draft(store, readers=Cluster(cluster.scheduler_address), progress=kill_all)
        faults = [sheet.fault for sheet in draft.sheets if sheet.fault]
        assert 0 < len(faults) < 8
        assert all("has no workers any more" in fault for fault in faults)
        assert len([p for p in draft.points.open if "has no workers any more" in p.why]) == len(faults)
    with actions.open_job(tmp_path / "d.takeoff", **DONE) as store:
        assert [sheet.fault for sheet in make_draft(store).sheets] == [""] * 8


def test_a_cluster_that_is_not_there_or_has_no_workers_is_refused(tmp_path, monkeypatch):
    from distributed import LocalCluster

    monkeypatch.setattr("takeoff.actions.draft.sheet_reads.CONNECT", 1)
    with opened(tmp_path / "j.takeoff") as store:
        with pytest.raises(InputError, match="does not answer"):
            make_draft(store, readers=Cluster("tcp://127.0.0.1:9"))
        with (
            LocalCluster(n_workers=0, dashboard_address=None) as cluster,
            pytest.raises(InputError, match="has no workers"),
        ):
            make_draft(store, readers=Cluster(cluster.scheduler_address))
        assert not store.can_undo
