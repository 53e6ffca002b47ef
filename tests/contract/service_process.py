"""The program as a process of its own: started, asked for its port, ended."""

import re
import subprocess
import threading


class Service:
    def __init__(self, program, *words):
        self.process = subprocess.Popen([program, *words], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
        self.said = []
        self.port = None
        self.listens = threading.Event()
        self.reader = threading.Thread(target=self.read, daemon=True)
        self.reader.start()
        self.listens.wait(600)
        if not self.port:
            raise RuntimeError("it does not listen:\n" + "".join(self.said))

    def read(self):
        for line in self.process.stderr:
            self.said.append(line)
            found = re.search(r"Listening on .*?(?::| port )(\d+)", line)
            if found and not self.port:
                self.port = int(found.group(1))
                self.listens.set()
        self.listens.set()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.process.terminate()
        try:
            self.process.wait(60)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
