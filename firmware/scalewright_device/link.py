"""Bytes to lines to answers. Bare lines serve a person; framed ones a host, which may repeat a request safely.

1. A bare line is answered with a bare line; a command that has nothing to say is answered with silence, as
   IEEE 488.2 asks. 2. A framed request is always answered in a frame with its number. 3. The same request again gets
   the same answer without being carried out again. 4. An answer that starts with `!` is an error. 5. A damaged frame is
   answered with an unasked frame holding error -360, so that the host asks again at once.
"""

from shared_calc import link_frame

_LINE_BYTES = 160
_BYTES_PER_STEP = 64  # so that a flood of input cannot starve the ADC


class Link:
    """Takes bytes from a console and hands each command to `answer(text, reply_to)`.

    `answer` returns the reply, or None where it comes later: then `reply(reply_to, text)` gives it, reply_to being a
    sequence number or BARE. `refuse(code)` returns what to say of a line that is no command at all.
    """

    BARE = -1

    def __init__(self, console, answer, refuse):
        self._console = console
        self._answer = answer
        self._refuse = refuse
        self._line = bytearray(_LINE_BYTES)
        self._length = 0
        self._last_request = None  # (sequence, command) of the last framed request
        self._last_reply = None  # None while it is owed

    def step(self):
        """Take what has been received. Returns True where there was something."""
        for taken in range(_BYTES_PER_STEP):
            byte = self._console.read_byte()
            if byte is None:
                return taken > 0
            if byte == 10 or byte == 13:
                self._end_line()
            else:
                if self._length < _LINE_BYTES:
                    self._line[self._length] = byte
                self._length += 1
        return True

    def reply(self, reply_to, text):
        """Answer a request now."""
        if reply_to == self.BARE:
            if text:
                self._send(text)
            return
        frame = link_frame.encode(reply_to, text)
        if self._last_reply is None and self._last_request and self._last_request[0] == reply_to:
            self._last_reply = frame
        self._send(frame)

    def send_unasked(self, text, framed):
        """Send a line nobody asked for."""
        self._send(link_frame.encode(None, text) if framed else text)

    def _send(self, line):
        self._console.write(line + "\r\n")

    def _end_line(self):
        length = self._length
        self._length = 0
        if length == 0:
            return
        line = bytes(self._line[:length])
        is_framed = link_frame.MARK.encode() in line
        if length > _LINE_BYTES:
            self._refuse_line(-363, is_framed)
        elif min(line) < 32 or max(line) > 126:
            self._refuse_line(-101, is_framed)
        elif is_framed:
            self._take_frame(line.decode())
        else:
            self._take_request(line.decode(), self.BARE)

    def _refuse_line(self, code, is_framed):
        self.send_unasked(self._refuse(-360 if is_framed else code), is_framed)

    def _take_frame(self, line):
        try:
            sequence, text = link_frame.decode(line)
        except link_frame.FrameError:
            sequence = None
        if sequence is None:
            self._refuse_line(-360, True)
        elif sequence != link_frame.RESYNCHRONISE and (sequence, text) == self._last_request:
            if self._last_reply is not None:
                self._send(self._last_reply)
        else:
            self._last_request = (sequence, text)
            self._last_reply = None
            self._take_request(text, sequence)

    def _take_request(self, text, reply_to):
        answer = self._answer(text, reply_to)
        if answer is not None:
            self.reply(reply_to, answer)
