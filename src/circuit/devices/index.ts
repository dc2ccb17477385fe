/** Device equations: junctions, transistors and their temperature laws. Pure functions of voltages and parameters. */
export { type Junction, junction, junctionCurrent } from './junction.ts';
export { gainRatio, leakageRatio, STATED_CELSIUS, saturationRatio, thermalVoltage } from './temperature.ts';
export { BASE, COLLECTOR, EMITTER, type Transistor, transistor, transistorCurrents } from './transistor.ts';
