// What scripts find made by others, for the type checker: a worklet in its own thread, and the waveform and the blind comparison that pages have as well.

declare const sampleRate: number;
declare const currentTime: number;
declare class AudioWorkletProcessor {
  readonly port: MessagePort;
}
declare function registerProcessor(name: string, processor: new () => AudioWorkletProcessor): void;

declare class Blind {
  constructor(
    root: HTMLElement,
    set: { voices: { title: string; name: string }[]; baseline: number; blind: unknown },
    hooks: { begin: (indices: number[]) => Promise<void>; end: () => void; hear: (index: number) => void },
  );
  readonly running: boolean;
  hear(ear: string): void;
  answer(which: string): void;
}

interface Shape {
  planes: Float32Array[];
  lead: number;
  length: number;
  rate: number;
}

declare class Wave {
  constructor(root: HTMLElement, on: { seek: (frame: number) => void; region: (start: number, end: number) => void });
  readonly root: HTMLElement;
  readonly sound: Shape | null;
  show(sound: Shape): void;
  setRegion(start: number, end: number): void;
  moveTo(frame: number): void;
}
