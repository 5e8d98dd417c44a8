// Everything here is a help: without it the page still asks, answers and shows what to do.
import { asks } from "./ask.js";
import { colours } from "./colours.js";
import { copies } from "./copy.js";
import { listens } from "./live.js";
import { speaks } from "./speak.js";
import { wrong } from "./wrong.js";

wrong();
colours();
copies();
asks();
speaks();
listens();
