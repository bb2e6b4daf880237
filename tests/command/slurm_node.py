"""Debian's Slurm on the loopback of this machine: munge, slurmctld and one slurmd, all of it in a folder."""
import os
import pathlib
import shutil
import socket
import subprocess
import time

PROGRAMS = ("munged", "slurmctld", "slurmd", "sbatch", "scontrol", "scancel", "sinfo")
CONFIGURATION = """\
ClusterName=loopback
SlurmctldHost={host}(127.0.0.1)
SlurmctldPort={controller_port}
SlurmdPort={node_port}
AuthType=auth/munge
CryptoType=crypto/munge
AuthInfo=socket={folder}/munge.socket,cred_expire=3
SlurmUser=root
SlurmdUser=root
StateSaveLocation={folder}/state
SlurmdSpoolDir={folder}/spool
SlurmctldPidFile={folder}/slurmctld.pid
SlurmdPidFile={folder}/slurmd.pid
SlurmctldLogFile={folder}/slurmctld.log
SlurmdLogFile={folder}/slurmd.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
JobAcctGatherType=jobacct_gather/none
AccountingStorageType=accounting_storage/none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
MpiDefault=none
SwitchType=switch/none
ReturnToService=2
JobRequeue=1
KillWait=2
MinJobAge=300
SchedulerParameters=sched_interval=2,bf_interval=2
NodeName={host} NodeAddr=127.0.0.1 CPUs={cores} State=UNKNOWN
PartitionName=all Nodes={host} Default=YES MaxTime=INFINITE State=UP
"""


def why_not():
    """Why Slurm can't be started here; empty where it can be tried."""
    if not hasattr(os, "geteuid") or os.geteuid() != 0:
        return "Slurm's daemons are started as root, which this isn't"
    missing = [name for name in PROGRAMS if find(name) is None]
    return f"not installed: {', '.join(missing)} (slurm-wlm, munge)" if missing else ""


def find(name):
    return shutil.which(name, path="/usr/sbin:/usr/bin:/sbin:/bin")


def free_port():
    with socket.socket() as tried:
        tried.bind(("127.0.0.1", 0))
        return tried.getsockname()[1]


class SlurmNode:
    """Started on entry, ended with all its jobs on exit. `environment` makes Slurm's commands talk to it."""

    def __init__(self, folder):
        self.folder = pathlib.Path(folder)
        self.daemons = []
        self.environment = {**os.environ, "SLURM_CONF": str(self.folder / "slurm.conf")}

    def __enter__(self):
        try:
            self.set_up()
        except BaseException:
            self.__exit__()
            raise
        return self

    def __exit__(self, *_):
        if self.daemons:
            subprocess.run([find("scancel"), "--user=root"], env=self.environment, capture_output=True, timeout=30)
            time.sleep(1)
        for daemon in reversed(self.daemons):
            daemon.terminate()
        for daemon in reversed(self.daemons):
            try:
                daemon.wait(timeout=20)
            except subprocess.TimeoutExpired:
                daemon.kill()
                daemon.wait()

    def set_up(self):
        for name in ("state", "spool"):
            (self.folder / name).mkdir()
        os.chmod(self.folder, 0o755)
        key = self.folder / "munge.key"
        key.write_bytes(os.urandom(128))
        os.chmod(key, 0o600)
        host = socket.gethostname().split(".")[0]
        (self.folder / "slurm.conf").write_text(CONFIGURATION.format(
            folder=self.folder, host=host, controller_port=free_port(), node_port=free_port(),
            cores=os.cpu_count()))
        self.start("munged", "--foreground", "--force", f"--key-file={key}", f"--socket={self.folder}/munge.socket",
                   f"--pid-file={self.folder}/munged.pid", f"--log-file={self.folder}/munged.log",
                   f"--seed-file={self.folder}/munged.seed")
        self.wait_for(lambda: (self.folder / "munge.socket").exists(), "munge")
        self.start("slurmctld", "-D", "-i")
        self.start("slurmd", "-D")
        self.wait_for(lambda: "idle" in self.ask("sinfo", "--noheader", "--format=%t"), "an idle node")

    def start(self, name, *words):
        with open(self.folder / f"{name}.out", "wb") as log:
            self.daemons.append(subprocess.Popen([find(name), *words], env=self.environment, stdout=log, stderr=log))

    def ask(self, name, *words):
        done = subprocess.run([find(name), *words], env=self.environment, capture_output=True, encoding="utf-8",
                              timeout=60)
        return done.stdout

    def wait_for(self, holds, what, seconds=60):
        end = time.monotonic() + seconds
        while not holds():
            for daemon in self.daemons:
                if daemon.poll() is not None:
                    raise RuntimeError(f"{daemon.args[0]} ended with {daemon.returncode}: {self.logs()}")
            if time.monotonic() > end:
                raise RuntimeError(f"waited in vain for {what}: {self.logs()}")
            time.sleep(0.1)

    def logs(self):
        return "\n".join(f"{log.name}: {log.read_text(errors='replace')[-1500:]}"
                         for log in sorted(self.folder.glob("*.log")) + sorted(self.folder.glob("*.out")))
