"""A Modbus RTU server that nobody here wrote, on the serial port named as the one argument.

Run as a process of its own; prints `ready` once it serves. Units 1 and 17 differ in nothing;
addresses that are not listed are refused by the server.
"""

import asyncio
import sys

from pymodbus.client.mixin import ModbusClientMixin
from pymodbus.server import ModbusSerialServer
from pymodbus.simulator import DataType, SimData, SimDevice

_REGISTERS = ModbusClientMixin.convert_to_registers
_TYPES = ModbusClientMixin.DATATYPE


def swapped(address: int, value: float, kind: ModbusClientMixin.DATATYPE) -> SimData:
    """A number whose low word comes first, laid out by the library."""
    words = _REGISTERS(value, kind, word_order="little")
    return SimData(address, values=words, datatype=DataType.REGISTERS)


HOLDING = [
    SimData(0, values=-12345, datatype=DataType.INT16),
    SimData(1, values=65535, datatype=DataType.UINT16),
    SimData(2, values=-123456, datatype=DataType.INT32),
    SimData(4, values=4_000_000_000, datatype=DataType.UINT32),
    SimData(6, values=12.345, datatype=DataType.FLOAT32),
    swapped(10, -123456, _TYPES.INT32),
    swapped(12, 4_000_000_000, _TYPES.UINT32),
    swapped(14, 12.345, _TYPES.FLOAT32),
    SimData(16, values=float("nan"), datatype=DataType.FLOAT32),
    SimData(18, values=float("-inf"), datatype=DataType.FLOAT32),
    SimData(20, values=-0x8000_0000, datatype=DataType.INT32),
    SimData(0xFFFE, values=599_820, datatype=DataType.INT32),
]
INPUT = [
    SimData(0, values=777, datatype=DataType.INT16),
    SimData(2, values=-0.0005, datatype=DataType.FLOAT32),
    SimData(0x0400, values=8, datatype=DataType.INT32),
]
BITS = [SimData(0, values=[False] * 16, datatype=DataType.BITS)]


async def serve(port: str) -> None:
    devices = [SimDevice(unit, simdata=(BITS, BITS, HOLDING, INPUT)) for unit in (1, 17)]
    server = ModbusSerialServer(
        devices,
        port=port,
        trace_connect=lambda is_up: print("ready" if is_up else "gone", flush=True),
    )
    await server.serve_forever()


if __name__ == "__main__":
    asyncio.run(serve(sys.argv[1]))
