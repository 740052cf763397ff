"""A learner without a browser: a lesson run through a kernel's websocket, its sliders moved."""

import asyncio
import json
import time
import uuid

from tornado import httpclient, websocket

PICTURE_S, RUN_S = 60, 600
PATIENT = {"connect_timeout": RUN_S, "request_timeout": RUN_S}


class Learner:
    """One learner with a notebook server at ``url``, asked with ``headers``.

    After ``run`` the sliders of all panels are in ``sliders``; ``move`` moves one of them.
    """

    def __init__(self, name, url, headers):
        self.name, self.url, self.headers = name, url, headers
        self.models, self.troubles, self.run_s = {}, [], float("nan")
        self._socket, self._answers, self._picture = None, {}, asyncio.Event()

    async def run(self, path, sources):
        """Start a kernel for the notebook at ``path`` and run its cells, ``sources``, in order.

        What does not work is told in ``troubles``, and ends this learner's run.
        """
        begin = time.monotonic()
        try:
            await self._connect(await self._kernel(path))
            await self._run(sources)
        except (OSError, TimeoutError, httpclient.HTTPError, websocket.WebSocketError) as broken:
            self.troubles.append(f"{self.name}: {type(broken).__name__} while the lesson ran")
        self.run_s = time.monotonic() - begin

    async def _connect(self, kernel):
        address = f"{self.url}/api/kernels/{kernel}/channels".replace("http", "ws", 1)
        request = httpclient.HTTPRequest(address, headers=self.headers, **PATIENT)
        self._socket = await websocket.websocket_connect(request, max_message_size=2**27)
        self._listening = asyncio.create_task(self._listen())

    async def _run(self, sources):
        for source in sources:
            asked = {"code": source, "silent": False, "store_history": True, "allow_stdin": False}
            content = await self._ask("execute_request", asked, RUN_S)
            if content["status"] != "ok":
                first = source.splitlines()[0]
                self.troubles.append(f"{self.name}: `{first}` {content.get('ename')}")

    @property
    def sliders(self):
        """Ids of all sliders that the lesson has shown so far."""
        kinds = ("FloatSliderModel", "FloatLogSliderModel", "IntSliderModel")
        return [i for i, state in self.models.items() if state.get("_model_name") in kinds]

    async def move(self, chance):
        """Move a slider by ``chance`` (a random.Random): ms from the message to its picture.

        None if the picture at that place is the same as before; a picture that does not come is a
        trouble, and takes infinitely long.
        """
        slider = chance.choice(self.sliders)
        state, begin = self.models[slider], time.monotonic()
        steps = max(1, round((state["max"] - state["min"]) / state["step"]))
        place = state["min"] + state["step"] * chance.randint(0, steps)
        state["value"] = state["base"] ** place if "base" in state else place
        self._picture.clear()
        update = {"method": "update", "state": {"value": state["value"]}, "buffer_paths": []}
        came = asyncio.ensure_future(self._picture.wait())
        try:
            self._send("comm_msg", {"comm_id": slider, "data": update})
            await asyncio.wait_for(self._drawn_or(came), PICTURE_S)
        except (TimeoutError, websocket.WebSocketError) as broken:
            self.troubles.append(f"{self.name}: {type(broken).__name__} instead of a picture")
            return float("inf")
        finally:
            came.cancel()
        return 1e3 * (self._came - begin) if self._picture.is_set() else None

    async def _drawn_or(self, came):
        """Wait for a picture, or until the kernel had time to draw one and is free again."""
        await asyncio.wait([came], timeout=0.5)
        while not came.done():
            await self._ask("kernel_info_request", {}, PICTURE_S)
            done, _ = await asyncio.wait([came], timeout=0.5)
            if not done:
                return

    def close(self):
        """Leave the kernel running, and go."""
        if self._socket:
            self._listening.cancel()
            self._socket.close()

    async def _kernel(self, path):
        """Id of a new kernel in a session of the notebook at ``path``."""
        asked = {"path": path, "name": path, "type": "notebook", "kernel": {"name": "python3"}}
        answer = await httpclient.AsyncHTTPClient().fetch(
            f"{self.url}/api/sessions",
            method="POST",
            body=json.dumps(asked),
            headers=self.headers,
            **PATIENT,
        )
        return json.loads(answer.body)["kernel"]["id"]

    def _send(self, kind, content):
        number = uuid.uuid4().hex
        header = {"msg_id": number, "msg_type": kind, "username": self.name, "session": self.name}
        message = {"header": header | {"version": "5.3", "date": ""}, "content": content}
        message |= {"parent_header": {}, "metadata": {}, "buffers": [], "channel": "shell"}
        self._socket.write_message(json.dumps(message))
        return number

    async def _ask(self, kind, content, timeout_s):
        """Content of the kernel's reply."""
        number = self._send(kind, content)
        self._answers[number] = asyncio.get_running_loop().create_future()
        return await asyncio.wait_for(self._answers[number], timeout_s)

    async def _listen(self):
        while (text := await self._socket.read_message()) is not None:
            message = json.loads(text)
            kind, content = message["msg_type"], message["content"]
            if kind.endswith("_reply"):
                waiting = self._answers.pop(message["parent_header"].get("msg_id"), None)
                if waiting and not waiting.done():
                    waiting.set_result(content)
            elif kind == "comm_open":
                self.models[content["comm_id"]] = content["data"].get("state", {})
            elif kind == "comm_msg" and content["data"].get("method") == "update":
                self._updated(content["comm_id"], content["data"]["state"])
        for waiting in self._answers.values():
            if not waiting.done():
                waiting.set_exception(websocket.WebSocketClosedError())

    def _updated(self, number, state):
        """Remember a widget's news; HTML news is a picture or a sentence by the controls."""
        model = self.models.setdefault(number, {})
        model.update(state)
        if model.get("_model_name") == "HTMLModel" and "value" in state:
            self._came = time.monotonic()
            self._picture.set()
